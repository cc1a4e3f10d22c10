"""The score page, its rule choices, kept scores, and the tally check."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.admission import signed_in, signed_in_person
from desk.forms.scores import ChoiceForm, EditionForm, KeepForm, OwnWeightsForm, TallyForm
from desk.score_page import kept_page, score_page, tally_page, typed_before
from desk.views.measuring import sheet_or_404
from portfolio.models import Sheet
from scoring import registry, selectors, services
from scoring.access import visible_runs
from scoring.index import Index
from scoring.models import ChoiceSet

REFUSED = 422


@signed_in
@require_safe
def score(request: HttpRequest, sheet: UUID, index: str) -> HttpResponse:
    """The explained score: lines, what is missing, rule choices, kept scores."""
    row, _ = _sheet_and_index(request, sheet, index)
    return _score(request, row, index)


def _score(
    request: HttpRequest, row: Sheet, index: str, own_form: OwnWeightsForm | None = None, status: int = 200
) -> HttpResponse:
    scored = selectors.scored(row, index)
    page = score_page(row, scored, selectors.kept_rows(row, scored))
    form = own_form or OwnWeightsForm(index=scored.index)
    return render(request, "desk/scores/score.html", {"page": page, "own_form": form}, status=status)


@signed_in
@require_POST
def choose_edition(request: HttpRequest, sheet: UUID, index: str) -> HttpResponse:
    """Put an edition, or weights of the site's own, in force for the whole portfolio."""
    row, built = _sheet_and_index(request, sheet, index)
    portfolio = row.record_set.case.patient.portfolio
    if request.POST.get("edition") == "own" and built.own_weights is not None:
        own = OwnWeightsForm(request.POST, index=built)
        if not own.is_valid():
            return _score(request, row, index, own, REFUSED)
        wanted = own.edition
    else:
        form = EditionForm(request.POST, index=built)
        if not form.is_valid():
            messages.error(request, "That is no edition of this index; nothing was changed.")
            return redirect(_back(row, index, "editions"))
        wanted = form.cleaned_data["edition"]
    services.choose_edition(portfolio, index, wanted)
    messages.success(request, f"{built.label} of {portfolio.name} is read by: {built.edition_words(wanted)}.")
    return redirect(_back(row, index, "editions"))


@signed_in
@require_POST
def choose(request: HttpRequest, sheet: UUID, index: str) -> HttpResponse:
    """Put a set of rule choices, or one choice, in force for the whole portfolio."""
    row, built = _sheet_and_index(request, sheet, index)
    portfolio = row.record_set.case.patient.portfolio
    form = ChoiceForm(request.POST, index=built)
    if not form.is_valid():
        messages.error(request, "That is no rule choice of this index; nothing was changed.")
        return redirect(_back(row, index, "choices"))
    cleaned = form.cleaned_data
    if cleaned["choice_set"]:
        services.choose_set(portfolio, index, cleaned["choice_set"])
        said = f"Rule choices in force: {ChoiceSet(cleaned['choice_set']).label}"
    else:
        services.choose(portfolio, index, cleaned["choice_id"], cleaned["value"])
        choice = built.choice(cleaned["choice_id"])
        said = f"In force now: {choice.label}, {dict(choice.options)[cleaned['value']]}"
    messages.success(
        request, f"{said}. It holds for every case of {portfolio.name}; choose again to go back."
    )
    return redirect(_back(row, index, "choices"))


@signed_in
@require_POST
def keep(request: HttpRequest, sheet: UUID, index: str) -> HttpResponse:
    """Keep the score that the page had shown."""
    row, _ = _sheet_and_index(request, sheet, index)
    form = KeepForm(request.POST)
    if not form.is_valid():
        messages.error(
            request, "The page was out of date; nothing was kept. Look at the score and keep it again."
        )
        return redirect(_back(row, index, "kept"))
    seen = form.cleaned_data
    try:
        kept = services.keep_score(
            signed_in_person(request),
            row,
            index,
            timezone.now(),
            seen_version=seen["version"],
            seen_choices=seen["choices"],
            seen_frame=seen["frame"],
        )
    except services.SheetMoved:
        messages.warning(
            request,
            "Nothing was kept: findings, teeth or rule choices have changed since this page was read. "
            "Look at the score as it is now and keep it again.",
        )
        return redirect(_back(row, index, "kept"))
    messages.success(
        request,
        "This score had been kept before; nothing has changed since." if kept.again else "The score is kept.",
    )
    return redirect(_back(row, index, "kept"))


@signed_in
@require_safe
def kept(request: HttpRequest, run: UUID) -> HttpResponse:
    """A kept score as it was, and what has moved since."""
    rows = visible_runs(request.user).select_related("kept_by", "sheet__record_set__case__patient__portfolio")
    row = get_object_or_404(rows, public_id=run)
    if row.index not in registry.INDEXES:
        raise Http404
    page = kept_page(row, selectors.scored(row.sheet, row.index))
    return render(request, "desk/scores/kept.html", {"page": page})


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def tally(request: HttpRequest, sheet: UUID, index: str) -> HttpResponse:
    """Points typed from the paper form against the computed ones."""
    row, built = _sheet_and_index(request, sheet, index)
    if not built.categories:
        raise Http404
    if request.method != "POST":
        tallies = selectors.typed_tallies(row, index)
        form = TallyForm(initial=dict(typed_before(tallies)), index=built)
        return _tally_page(request, row, form, tallies)
    form = TallyForm(request.POST, index=built)
    if not form.is_valid():
        return _tally_page(request, row, form, [], REFUSED)
    categories, total = form.typed()
    services.type_tally(signed_in_person(request), row, index, categories, total, timezone.now())
    return redirect("desk:tally", row.public_id, index)


def _tally_page(
    request: HttpRequest, row: Sheet, form: TallyForm, tallies: list[Any], status: int = 200
) -> HttpResponse:
    page = tally_page(row, selectors.scored(row, form.index.key), tallies)
    checked = {one.key: one for one in page.checked.rows} if page.checked else {}
    fields = [(form[key], checked.get(key)) for key in form.index.categories]
    context = {"page": page, "form": form, "fields": fields, "total": form["total"]}
    return render(request, "desk/scores/tally.html", context, status=status)


def _sheet_and_index(request: HttpRequest, sheet: UUID, index: str) -> tuple[Sheet, Index]:
    row = sheet_or_404(request, sheet)
    if index not in registry.INDEXES:
        raise Http404
    return row, registry.index(index)


def _back(row: Sheet, index: str, part: str) -> str:
    return f"{reverse('desk:score', args=[row.public_id, index])}#{part}"
