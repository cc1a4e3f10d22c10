"""The import page of a sheet: file, preview, confirmation, undo."""

import uuid
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.template.defaultfilters import pluralize
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from accounts.admission import signed_in, signed_in_person
from portfolio import readings, selectors, services
from portfolio.access import visible_sheets
from portfolio.forms.importing import ImportConfirmForm, ImportUndoForm, SheetFileForm
from portfolio.models import Sheet
from portfolio.sheet_upload import read_upload
from portfolio.views.saving import CHANGED, REFUSED, own
from portfolio.wording import quantity_words, site_words, value_words

TEMPLATE = "portfolio/sheet_import.html"


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def sheet_import(request: HttpRequest, sheet: UUID) -> HttpResponse:
    """Choose a sheet file, see what it would change, and import it; nothing is saved before that."""
    row = _sheet(request, sheet)
    if request.method != "POST":
        return _page(request, row, form=SheetFileForm())
    if "text" in request.POST:
        return _confirmed(request, row)
    form = SheetFileForm(request.POST, request.FILES)
    if not form.is_valid():
        return _page(request, row, REFUSED, form=form)
    file = form.cleaned_data["file"]
    try:
        upload = read_upload(file.read())
    except readings.SheetRefused as refusal:
        return _page(request, row, REFUSED, form=SheetFileForm(), faults=refusal.faults, file_name=file.name)
    return _previewed(request, row, upload.sheet, how=upload.how, file_name=file.name)


@signed_in
@require_POST
def sheet_import_undo(request: HttpRequest, sheet: UUID) -> HttpResponse:
    """Take back the import that is the last change of the sheet."""
    row = _sheet(request, sheet)
    form = ImportUndoForm(request.POST)
    if not form.is_valid():
        messages.error(request, "This page is out of date; look at the sheet again.")
        return redirect("portfolio:sheet_import", row.public_id)
    number, key = form.cleaned_data["number"], str(form.cleaned_data["key"])
    answer = services.undo(signed_in_person(request), row, number, key, timezone.now())
    if isinstance(answer, services.Recorded):
        messages.success(request, "The import is taken back; the sheet is as it was before.")
    elif isinstance(answer, services.Changed):
        names = ", ".join(dict.fromkeys(one.by_name for one in answer.theirs))
        messages.error(request, f"Findings of this import have been changed since by {names}; it stays.")
    else:
        messages.error(request, " ".join(fault.message for fault in answer.faults))
    return redirect("portfolio:sheet_import", row.public_id)


def _confirmed(request: HttpRequest, row: Sheet) -> HttpResponse:
    form = ImportConfirmForm(request.POST)
    if not form.is_valid():
        messages.error(request, "The preview is out of date. Choose the file again.")
        return redirect("portfolio:sheet_import", row.public_id)
    cleaned = form.cleaned_data
    try:
        plain = readings.read_json(cleaned["text"])
    except readings.SheetRefused as refusal:
        return _page(request, row, REFUSED, form=SheetFileForm(), faults=refusal.faults)
    by, at = signed_in_person(request), timezone.now()
    answer = services.import_sheet(by, row, plain, str(cleaned["key"]), at, cleaned["seen_version"])
    if isinstance(answer, services.Recorded):
        many = f"{len(answer.findings)} finding{pluralize(len(answer.findings))}"
        done = f"Imported: the file's {many} stand{pluralize(len(answer.findings), 's,')} on the sheet."
        nothing = "Everything in the file stood on the sheet already; nothing was changed."
        messages.success(request, done if answer.number else nothing)
        return redirect("portfolio:sheet_import", row.public_id)
    if isinstance(answer, services.Changed):
        return _previewed(request, row, plain, CHANGED, theirs=answer.theirs)
    return _page(request, row, REFUSED, form=SheetFileForm(), faults=answer.faults)


def _previewed(
    request: HttpRequest, row: Sheet, plain: readings.Sheet, status: int = 200, **context: Any
) -> HttpResponse:
    preview = services.preview_import(row, plain)
    confirm = None
    if not preview.faults:
        confirm = ImportConfirmForm.for_preview(readings.write_json(plain), preview.version)
    notation = row.record_set.case.patient.portfolio.notation
    return _page(
        request,
        row,
        REFUSED if preview.faults else status,
        form=SheetFileForm(),
        preview=preview,
        rows=[_row(one, notation) for one in preview.rows],
        beside=[one.words for one in preview.rows if one.words],
        counts=[(kind, preview.count(kind)) for kind in ("new", "changed", "unchanged")],
        faults=preview.faults,
        confirm=confirm,
        **context,
    )


def _row(one: services.PreviewRow, notation: str) -> dict[str, str]:
    return {
        "quantity": quantity_words(one.quantity),
        "site": site_words(one.site, notation),
        "old": value_words(one.quantity, one.old),
        "new": value_words(one.quantity, one.new),
        "kind": "changed too" if one.kind == "beside" else one.kind,
    }


def _page(request: HttpRequest, row: Sheet, status: int = 200, **context: Any) -> HttpResponse:
    case = row.record_set.case
    number = selectors.last_import(row) if request.method != "POST" else None
    undo_form = None
    if number:
        undo_form = ImportUndoForm(initial={"number": number, "key": uuid.uuid4()})
    return render(
        request,
        TEMPLATE,
        {
            "sheet_id": row.public_id,
            "case_id": case.public_id,
            "case_code": case.code,
            "record_set_id": row.record_set.public_id,
            "label": selectors.stage_label(row.record_set.stage, row.record_set.ordinal),
            "undo_form": undo_form,
            **context,
        },
        status=status,
    )


def _sheet(request: HttpRequest, public_id: UUID) -> Sheet:
    return own(visible_sheets(request.user).select_related("record_set__case__patient__portfolio"), public_id)
