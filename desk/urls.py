"""Addresses of the desk: pages that need more than one room."""

from django.urls import path

from desk.views import bench, cases, changes, history, installation, measuring, points, repeats, scores

app_name = "desk"
urlpatterns = [
    path("", cases.home, name="home"),
    path("cases/<uuid:case>/", cases.case, name="case"),
    path("cases/<uuid:case>/change/", changes.case_change, name="case_change"),
    path("cases/<uuid:case>/change/limit/", changes.result_limit, name="result_limit"),
    path("changes/", changes.changes, name="changes"),
    path("changes/table.csv", changes.changes_file, {"kind": "csv"}, name="changes_csv"),
    path("changes/table.xlsx", changes.changes_file, {"kind": "xlsx"}, name="changes_xlsx"),
    path("changes/<slug:index>/rescore/", changes.rescore, name="rescore"),
    path("sheets/<uuid:sheet>/measure/", measuring.measure, name="measure"),
    path("sheets/<uuid:sheet>/findings/", measuring.save_findings, name="findings"),
    path("sheets/<uuid:sheet>/undo/", measuring.undo_change, name="undo"),
    path("sheets/<uuid:sheet>/what-if/", measuring.what_if, name="what_if"),
    path("sheets/<uuid:sheet>/settings/", measuring.settings, name="sheet_settings"),
    path("sheets/<uuid:sheet>/indices/", measuring.choose_indices, name="choose_indices"),
    path("sheets/<uuid:sheet>/history/", history.sheet_history, name="sheet_history"),
    path("sheets/<uuid:sheet>/bench-sheet/", bench.bench, name="bench_sheet"),
    path("sheets/<uuid:sheet>/transfer-sheet/", bench.transfer, name="transfer_sheet"),
    path("bench-sheet/", bench.blank, name="bench_sheet_blank"),
    path("sheets/<uuid:sheet>/sheet.json", cases.sheet_file, {"kind": "json"}, name="sheet_json"),
    path("sheets/<uuid:sheet>/sheet.csv", cases.sheet_file, {"kind": "csv"}, name="sheet_csv"),
    path("sheets/<uuid:sheet>/scores/<slug:index>/", scores.score, name="score"),
    path("sheets/<uuid:sheet>/scores/<slug:index>/choices/", scores.choose, name="choose"),
    path("sheets/<uuid:sheet>/scores/<slug:index>/edition/", scores.choose_edition, name="choose_edition"),
    path("sheets/<uuid:sheet>/scores/<slug:index>/keep/", scores.keep, name="keep"),
    path("sheets/<uuid:sheet>/scores/<slug:index>/points/", points.points, name="points"),
    path("sheets/<uuid:sheet>/scores/<slug:index>/how-sure/", how_sure.how_sure, name="how_sure"),
    path("sheets/<uuid:sheet>/scores/<slug:index>/tally/", scores.tally, name="tally"),
    path("portfolios/<uuid:portfolio>/repeats/", repeats.repeats, name="repeat_list"),
    path("portfolios/<uuid:portfolio>/own-error/", repeats.own_error, name="repeat_own_error"),
    path("record-sets/<uuid:record_set>/repeat/", repeats.begin, name="repeat_begin"),
    path("repeat-sheets/<uuid:repeat_sheet>/", repeats.repeat_sheet, name="repeat_sheet"),
    path("repeat-sheets/<uuid:repeat_sheet>/findings/", repeats.save_findings, name="repeat_findings"),
    path("repeat-sheets/<uuid:repeat_sheet>/undo/", repeats.undo_change, name="repeat_undo"),
    path("repeat-sheets/<uuid:repeat_sheet>/hand-in/", repeats.hand_in, name="repeat_hand_in"),
    path("repeat-sheets/<uuid:repeat_sheet>/give-up/", repeats.give_up, name="repeat_give_up"),
    path("repeat-sheets/<uuid:repeat_sheet>/sheet.json", repeats.sheet_file, name="repeat_json"),
    path(
        "repeat-sheets/<uuid:repeat_sheet>/leave-out/",
        repeats.turn,
        {"turn": "leave-out"},
        name="repeat_leave_out",
    ),
    path(
        "repeat-sheets/<uuid:repeat_sheet>/count-again/",
        repeats.turn,
        {"turn": "count-again"},
        name="repeat_count_again",
    ),
    path("installation/", installation.state, name="installation"),
    path("installation/backup/", installation.make_backup, name="make_backup"),
    path("installation/health/", installation.check_health, name="check_health"),
    path("installation/rehearsal/", installation.rehearse, name="rehearse"),
    path(
        "installation/backups/<uuid:backup>/rehearsal/", installation.rehearse_backup, name="rehearse_backup"
    ),
    path("installation/backups/<uuid:backup>/", installation.download_backup, name="download_backup"),
    path("kept/<uuid:run>/", scores.kept, name="kept"),
]
