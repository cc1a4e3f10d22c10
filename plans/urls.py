"""Addresses of plans, and of what a portfolio is held against."""

from django.urls import path

from plans.views import editing, entry, held, plan, plans, slots, submissions

app_name = "plans"
urlpatterns = [
    path("plans/", plans.plans, name="plans"),
    path("plans/new/", plans.plan_new, name="new"),
    path("plans/import/", plans.plan_import, name="import"),
    path("plans/shipped/<slug:shipped>/", plans.shipped, name="shipped"),
    path("plans/<uuid:plan>/", plan.plan, name="plan"),
    path("plans/<uuid:plan>/file/", plan.plan_file, name="file"),
    path("plans/<uuid:plan>/compare/", plan.compare, name="compare"),
    path("plans/<uuid:plan>/copy/", plan.plan_copy, name="copy"),
    path("plans/<uuid:plan>/archive/", plan.plan_archive, name="archive"),
    path("plans/<uuid:plan>/restore/", plan.plan_restore, name="restore"),
    path("plans/<uuid:plan>/edit/", editing.editor, name="editor"),
    path("plans/<uuid:plan>/change/", editing.change, name="change"),
    path("plans/<uuid:plan>/undo/", editing.undo, name="undo"),
    path("plans/<uuid:plan>/keep/", editing.keep, name="keep"),
    path("plans/<uuid:plan>/edit/<slug:section>/<slug:item>/", entry.entry, name="entry"),
    path("plan-versions/<uuid:version>/", plan.version, name="version"),
    path("plan-versions/<uuid:version>/file/", plan.version_file, name="version_file"),
    path("portfolios/<uuid:portfolio>/plan/", held.portfolio_plan, name="portfolio_plan"),
    path("portfolios/<uuid:portfolio>/plan/to/<uuid:version>/", held.move_to, name="move_to"),
    path("portfolios/<uuid:portfolio>/plan/none/", held.no_plan, name="no_plan"),
    path("portfolios/<uuid:portfolio>/slots/", slots.slots, name="slots"),
    path("portfolios/<uuid:portfolio>/choice/", slots.choice, name="choice"),
    path("portfolios/<uuid:portfolio>/choice/take/", slots.take_choice, name="take_choice"),
    path("portfolios/<uuid:portfolio>/choice/take-back/", slots.take_back, name="take_back"),
    path("portfolios/<uuid:portfolio>/due/", slots.due, name="due"),
    path("portfolios/<uuid:portfolio>/due/day/", slots.submission_day, name="submission_day"),
    path("portfolios/<uuid:portfolio>/due/calendar/", slots.due_file, name="due_file"),
    path("cases/<uuid:case>/slots/", slots.case_slots, name="case_slots"),
    path("cases/<uuid:case>/slots/place/", slots.place, name="place"),
    path("portfolios/<uuid:portfolio>/submissions/", submissions.submissions, name="submissions"),
    path("portfolios/<uuid:portfolio>/submissions/new/", submissions.submission_new, name="submission_new"),
    path("submissions/<uuid:submission>/", submissions.submission, name="submission"),
    path("submissions/<uuid:submission>/table/", submissions.submission_table, name="submission_table"),
    path("submissions/<uuid:submission>/next/", submissions.submission_next, name="submission_next"),
    path("submitted-cases/<uuid:submitted>/result/", submissions.submission_result, name="submission_result"),
]
