"""The scale of a picture: its page, the ways to give one, and what a ruler comes to while it is being placed."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django import forms as django_forms
from django.http import HttpRequest, HttpResponse, JsonResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from accounts.admission import signed_in, signed_in_person
from accounts.models import User
from imaging import selectors as pictures
from imaging.calibrating import forms, selectors, services
from imaging.calibration import Scale, ScaleRefused, factor_warnings, ruler_warnings, sn_words
from imaging.models import CalibrationStep, CalibrationWay
from imaging.tracing.selectors import picture_data, tracing_on
from imaging.views.answering import attempt, picture_or_404
from portfolio.models import RecordItem

REFUSED = 422
CONFLICT = 409
Keeping = Callable[[], None]


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def scale(request: HttpRequest, picture: UUID) -> HttpResponse:
    """The page of a picture's scale; a POST keeps one, or undoes, and comes back with the reason where it cannot."""
    item, by = picture_or_404(request, picture), signed_in_person(request)
    if request.method != "POST":
        return render(request, "imaging/scale.html", _context(by, item, _forms(item)))
    shown = _forms(item)
    shown_at_first = tuple(shown)
    do = request.POST.get("do", "")
    bound = _bound(do, request.POST, item)
    if bound is None:
        return redirect("imaging:scale", item.public_id)
    shown[do] = bound
    if bound.is_valid():
        try:
            kept = attempt(request, lambda: _keep(by, item, do, bound), DONE[do])
        except ScaleRefused as refused:
            _refuse(bound, refused)
        else:
            if kept or do not in shown_at_first:
                return redirect("imaging:scale", item.public_id)
            return _once_more(request, by, item, do)
    return render(request, "imaging/scale.html", _context(by, item, shown, refused=do), status=REFUSED)


@signed_in
@require_POST
def try_scale(request: HttpRequest, picture: UUID) -> HttpResponse:
    """What a ruler as entered would come to, in words; nothing is kept."""
    item, by = picture_or_404(request, picture), signed_in_person(request)
    form = _bound("ruler", request.POST, item)
    assert isinstance(form, forms.RulerForm)
    if not form.is_valid():
        return JsonResponse({"faults": {name: list(faults) for name, faults in form.errors.items()}})
    reading = form.reading(selectors.scale_facts(item).file.aspect)
    try:
        found = services.by_ruler_in(item, reading)
    except ScaleRefused as refused:
        _refuse(form, refused)
        return JsonResponse({"faults": {name: list(faults) for name, faults in form.errors.items()}})
    return JsonResponse(
        {
            "numbers": selectors.numbers(found),
            "size": selectors.size_words(found),
            "warnings": [*ruler_warnings(reading), *_sn(by, item, found)],
        }
    )


def _once_more(request: HttpRequest, by: User, item: RecordItem, do: str) -> HttpResponse:
    """The form as it was sent, beside what was kept meanwhile in another window; nothing typed is lost."""
    given = request.POST.copy()
    given["seen"] = str(selectors.scale_facts(item).number)
    shown = {**_forms(item), do: _bound(do, given, item)}
    return render(request, "imaging/scale.html", _context(by, item, shown), status=CONFLICT)


DONE = {
    "ruler": "The scale is kept.",
    "magnification": "The scale is kept.",
    "file": "The scale is kept.",
    "none": "Kept: this picture has no scale.",
    "undo": "Undone.",
    "redo": "Done again.",
}


def _bound(do: str, given: QueryDict, item: RecordItem) -> django_forms.Form | None:
    if do == "ruler":
        return _ruler_form(item, given)
    if do == "magnification":
        return _magnification_form(item, given)
    made = {
        "file": forms.OfferForm,
        "none": forms.SeenForm,
        "undo": forms.StepForm,
        "redo": forms.StepForm,
    }.get(do)
    return made(given) if made else None


def _keep(by: User, item: RecordItem, do: str, form: Any) -> None:
    """Keep what a form that was found in order says; raises ScaleRefused, ChangedMeanwhile."""
    stand, at = form.stand(), timezone.now()
    if do == "ruler":
        services.keep_ruler(by, item, form.reading(selectors.scale_facts(item).file.aspect), stand, at)
    elif do == "magnification":
        services.keep_magnification(by, item, form.stated(), stand, at)
    elif do == "file":
        services.keep_file(by, item, form.cleaned_data["offer"], stand, at)
    elif do == "none":
        services.keep_none(by, item, stand, at)
    else:
        action = CalibrationStep.UNDO if do == "undo" else CalibrationStep.REDO
        services.step(by, item, action, form.cleaned_data["number"], stand, at)


def _refuse(form: Any, refused: ScaleRefused) -> None:
    if isinstance(form, forms.RulerForm):
        form.refuse(refused.field, str(refused))
    else:
        form.add_error(refused.field if refused.field in form.fields else None, str(refused))


def _forms(item: RecordItem) -> dict[str, Any]:
    return {"ruler": _ruler_form(item), "magnification": _magnification_form(item)}


def _ruler_form(item: RecordItem, given: Any = None) -> forms.RulerForm:
    facts = selectors.scale_facts(item)
    kept = forms.ruler_values(facts.given) if facts.way == CalibrationWay.RULER else {}
    return forms.RulerForm(
        given,
        radiograph=pictures.picture_facts(item).radiograph,
        size=(item.width or 1, item.height or 1),
        initial={**forms.fresh(facts.number), **kept},
        auto_id="ruler-%s",
    )


def _magnification_form(item: RecordItem, given: Any = None) -> forms.MagnificationForm:
    facts = selectors.scale_facts(item)
    kept = forms.magnification_values(facts.given) if facts.way == CalibrationWay.MAGNIFICATION else {}
    return forms.MagnificationForm(
        given,
        film_stated=facts.file.film is not None,
        initial={**forms.fresh(facts.number), **kept},
        auto_id="magnification-%s",
    )


def _sn(by: User, item: RecordItem, scale: Scale | None) -> list[str]:
    """Words about S-N by the person's own tracing where it has both points and the length is unusual."""
    tracing = tracing_on(by, item)
    if scale is None or tracing is None or not {"S", "N"} <= tracing.points.keys():
        return []
    s, n = ((tracing.points[name]["x"], tracing.points[name]["y"]) for name in ("S", "N"))
    return [words] if (words := sn_words(scale.length(s, n), scale.size)) else []


def _context(by: User, item: RecordItem, shown: dict[str, Any], refused: str = "") -> dict[str, Any]:
    here, facts = item.record_set, selectors.scale_facts(item)
    factor = facts.given.get("factor")
    return {
        "picture": pictures.picture_facts(item),
        "record_set": here.public_id,
        "case_id": here.case.public_id,
        "case_code": here.case.code,
        "facts": facts,
        "size_words": selectors.size_words(facts.scale) if facts.scale else "",
        "warnings": [
            *_kept_warnings(facts),
            *(factor_warnings(factor) if facts.way == CalibrationWay.MAGNIFICATION and factor else []),
            *_sn(by, item, facts.scale),
        ],
        "forms": shown,
        "fresh": forms.fresh(facts.number),
        "refused": refused,
        "shown": picture_data(item),
        "uncalibrated": selectors.UNCALIBRATED,
    }


def _kept_warnings(facts: selectors.ScaleFacts) -> tuple[str, ...]:
    if facts.way != CalibrationWay.RULER or "rulers" not in facts.given:
        return ()
    return ruler_warnings(services.reading_of(facts.given))
