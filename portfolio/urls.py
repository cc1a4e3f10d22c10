"""Addresses of portfolios, coded patients, consents, cases, record sets and imports."""

from django.urls import path

from portfolio.views import (
    cases,
    checklist,
    error_figures,
    importing,
    moving,
    patients,
    portfolios,
    record_sets,
    treatment,
)

app_name = "portfolio"
urlpatterns = [
    path("portfolios/new/", portfolios.portfolio_new, name="portfolio_new"),
    path("portfolios/<uuid:portfolio>/edit/", portfolios.portfolio_edit, name="portfolio_edit"),
    path("portfolios/<uuid:portfolio>/key-list/", portfolios.key_list, name="key_list"),
    path("portfolios/<uuid:portfolio>/errors/", error_figures.error_figures, name="error_figures"),
    path(
        "portfolios/<uuid:portfolio>/errors/<slug:figure>/", error_figures.error_figure, name="error_figure"
    ),
    path(
        "portfolios/<uuid:portfolio>/errors/<slug:figure>/default/",
        error_figures.error_turn,
        {"turn": "default"},
        name="error_default",
    ),
    path(
        "portfolios/<uuid:portfolio>/errors/<slug:figure>/own-again/",
        error_figures.error_turn,
        {"turn": "own"},
        name="error_own_again",
    ),
    path("portfolios/<uuid:portfolio>/deleted-cases/", cases.deleted_cases, name="deleted_cases"),
    path("portfolios/<uuid:portfolio>/patients/", patients.patients, name="patients"),
    path("portfolios/<uuid:portfolio>/patients/new/", patients.patient_new, name="patient_new"),
    path("patients/<uuid:patient>/", patients.patient, name="patient"),
    path("patients/<uuid:patient>/edit/", patients.patient_edit, name="patient_edit"),
    path("patients/<uuid:patient>/delete/", patients.patient_delete, name="patient_delete"),
    path("patients/<uuid:patient>/consents/new/", patients.consent_new, name="consent_new"),
    path("consents/<uuid:consent>/edit/", patients.consent_edit, name="consent_edit"),
    path("consents/<uuid:consent>/withdraw/", patients.consent_withdraw, name="consent_withdraw"),
    path("cases/new/", cases.case_new, name="case_new"),
    path("cases/<uuid:case>/edit/", cases.case_edit, name="case_edit"),
    path("cases/<uuid:case>/delete/", cases.case_delete, name="case_delete"),
    path("cases/<uuid:case>/restore/", cases.case_restore, name="case_restore"),
    path("cases/<uuid:case>/erase/", cases.case_erase, name="case_erase"),
    path("cases/<uuid:case>/record-sets/new/", record_sets.record_set_new, name="record_set_new"),
    path("cases/<uuid:case>/treatment/", treatment.treatment, name="treatment"),
    path("cases/<uuid:case>/statements/", treatment.statements, name="statements"),
    path("treatment/<uuid:event>/edit/", treatment.event_edit, name="event_edit"),
    path("treatment/<uuid:event>/remove/", treatment.event_remove, name="event_remove"),
    path("treatment/<uuid:event>/put-back/", treatment.event_put_back, name="event_put_back"),
    path("treatment/<uuid:event>/erase/", treatment.event_erase, name="event_erase"),
    path("cases/<uuid:case>/records/", checklist.case_records, name="case_records"),
    path("record-sets/<uuid:record_set>/records/", checklist.stage_records, name="stage_records"),
    path("record-sets/<uuid:record_set>/edit/", record_sets.record_set_edit, name="record_set_edit"),
    path("record-sets/<uuid:record_set>/delete/", record_sets.record_set_delete, name="record_set_delete"),
    path("sheets/<uuid:sheet>/import/", importing.sheet_import, name="sheet_import"),
    path("sheets/<uuid:sheet>/import/undo/", importing.sheet_import_undo, name="sheet_import_undo"),
    path("handing-over/", moving.handing_over, name="handing_over"),
    path("patients/<uuid:patient>/hand-over/", moving.hand_over, name="hand_over"),
    path("handing-over/<uuid:move>/take/", moving.take_over, name="take_over"),
    path("handing-over/<uuid:move>/decline/", moving.decline_move, name="decline_move"),
    path("handing-over/<uuid:move>/withdraw/", moving.withdraw_move, name="withdraw_move"),
]
