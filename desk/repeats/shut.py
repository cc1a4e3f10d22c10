"""While a repeat is open, every page of its case is shut to its reader, so that no earlier value is met by chance.

Deliberate looking cannot be prevented; it takes giving the repeat up, which is kept with a reason.
"""

from collections.abc import Callable, Mapping
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.http import HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.shortcuts import render

from imaging.tracing.access import visible_tracings
from portfolio.access import Asker, visible_items
from portfolio.models import RepeatSheet
from portfolio.repeating.access import open_repeat_sheets
from portfolio.selectors import stage_label
from scoring.access import visible_runs

SHUT = 423
"""Locked (RFC 4918, 11.3)."""
SHUT_WORDS = "shut while you measure it again"
OWN_PAGES = "desk:repeat_"
"""The pages of repeats see to their blindness themselves."""
ASKS_ITSELF = "desk:findings"
"""A save finds out with the query that finds its sheet, by `is_repeated_now`."""
_CASE = "sheet__record_set__case"
_WAYS = {
    "case": "public_id",
    "event": "treatment_events__public_id",
    "record_set": "record_sets__public_id",
    "sheet": "record_sets__sheets__public_id",
    "submission": "submitted__submission__public_id",
    "submitted": "submitted__public_id",
}


def _of(user: Asker, argument: str, value: str) -> Q | None:
    """Which repeats an argument of an address leads to the case of; None for other arguments."""
    if argument in _WAYS:
        return Q(**{f"{_CASE}__{_WAYS[argument]}": value})
    if argument == "picture":
        return Q(**{f"{_CASE}__in": visible_items(user).filter(public_id=value).values("record_set__case")})
    if argument == "tracing":
        found = visible_tracings(user).filter(public_id=value)
        return Q(**{f"{_CASE}__in": found.values("item__record_set__case")})
    if argument == "run":
        return Q(
            **{f"{_CASE}__in": visible_runs(user).filter(public_id=value).values("sheet__record_set__case")}
        )
    return None


class ShutWhileRepeating:
    """Answers 423 with a way on for pages of a case of which a repeat by the same person is open."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: object, arguments: object, named: Mapping[str, object]
    ) -> HttpResponse | None:
        """None where nothing is shut."""
        match = request.resolver_match
        name = match.view_name if match else ""
        if not request.user.is_authenticated or name == ASKS_ITSELF or name.startswith(OWN_PAGES):
            return None
        for argument, value in named.items():
            of = _of(request.user, argument, str(value))
            repeat = _first_open(request.user, of) if of is not None else None
            if repeat is not None:
                return shut(request, repeat)
        return None


def _first_open(user: Asker, of: Q) -> RepeatSheet | None:
    rows = open_repeat_sheets(user).filter(of)
    return rows.select_related("sheet__record_set__case__patient__portfolio").first()


def shut(request: HttpRequest, repeat: RepeatSheet) -> HttpResponse:
    """What stands in place of a page that shows earlier values."""
    here = repeat.sheet.record_set
    words = f"Case {here.case.code} is {SHUT_WORDS}: an earlier value seen now would spoil the repeat."
    if request.headers.get("X-Requested-With") == "fetch":
        return JsonResponse({"message": words}, status=SHUT)
    shown = {
        "words": words,
        "repeat": repeat.sheet.public_id,
        "label": stage_label(here.stage, here.ordinal),
        "portfolio": here.case.patient.portfolio.public_id,
    }
    return render(request, "desk/repeats/shut.html", shown, status=SHUT)


def shut_save(case_code: str) -> JsonResponse:
    """The answer to a save on a page that was open before the repeat was begun."""
    return JsonResponse({"message": f"Case {case_code} is {SHUT_WORDS}; nothing was saved."}, status=SHUT)


def open_cases(user: Asker) -> QuerySet[RepeatSheet, int]:
    """Primary keys of the cases that the person is measuring again."""
    return open_repeat_sheets(user).values_list(_CASE, flat=True)


def is_repeated_now(user: Asker, case: str) -> Exists:
    """Whether the case at the end of `case` is being measured again: an annotation, so that it costs no query."""
    return Exists(open_repeat_sheets(user).filter(**{_CASE: OuterRef(case)}))


def other_open(user: Asker, case: int, but: UUID) -> RepeatSheet | None:
    """An open repeat in a case beside the one whose page is asked for."""
    return _first_open(user, Q(**{_CASE: case}) & ~Q(sheet__public_id=but))
