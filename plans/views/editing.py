"""The editor of a plan: its draft with the tools of each entry, one entry's form, undo, keeping a version."""

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from accounts.admission import signed_in, signed_in_person
from plans import services
from plans.access import visible_plans
from plans.editing import entries
from plans.editing.parts import ABOUT, SECTIONS
from plans.forms.plans import KeepForm
from plans.models import Plan
from plans.outline import Entry
from plans.plan_file import PlanRefused
from plans.selectors.plans import PlanShown, plan_shown
from plans.views.sent import seen_version
from portfolio.services.saving import ChangedMeanwhile
from portfolio.views.saving import own, save_form

CHANGED_WORDS = "Not done: the plan was changed in another window meanwhile. Here it is as it stands now."
MOVES = {"up": -1, "down": 1}


@dataclass(frozen=True, slots=True)
class EntryLine:
    """One entry of the draft with what can be done to it; `focus` is the button that was pressed last."""

    entry: Entry
    first: bool
    last: bool
    focus: str


@dataclass(frozen=True, slots=True)
class SectionLines:
    """One section of the draft."""

    key: str
    heading: str
    one: str
    about: str
    lines: tuple[EntryLine, ...]
    ordered: bool
    focus: str


@signed_in
@require_safe
def editor(request: HttpRequest, plan: UUID) -> HttpResponse:
    """The draft, section by section, with the tools to change it."""
    row = own(visible_plans(request.user), plan)
    return _editor_page(request, row, KeepForm(initial={"version": row.version}))


@signed_in
@require_POST
def change(request: HttpRequest, plan: UUID) -> HttpResponse:
    """Move an entry up or down, or take it out; undo stands on the page that follows."""
    row = own(visible_plans(request.user), plan)
    section, item, what = (request.POST.get(name, "") for name in ("section", "item", "do"))
    if section not in entries.LISTS or (what not in MOVES and what != "remove"):
        messages.warning(request, CHANGED_WORDS)
        return redirect("plans:editor", row.public_id)
    try:
        label = entries.label_of(row.draft, section, item)
        place = entries.place_of(row.draft, section, item)
        if what == "remove":
            changed, words = entries.without(row.draft, section, item), f"{label} removed"
        else:
            changed, words = entries.moved(row.draft, section, item, MOVES[what]), f"{label} moved {what}"
        services.edit_draft(row, seen_version(request), changed, words)
    except (ChangedMeanwhile, entries.NoEntry):
        messages.warning(request, CHANGED_WORDS)
    except PlanRefused as refusal:
        messages.error(request, f"{label} cannot be removed: {refusal}.")
    else:
        moved_to = item if section != "records" else str(place + MOVES.get(what, 0))
        return _to_editor(row, section, moved_to, what)
    return redirect("plans:editor", row.public_id)


@signed_in
@require_POST
def undo(request: HttpRequest, plan: UUID) -> HttpResponse:
    """Take the last change of the draft back, or do it again."""
    row = own(visible_plans(request.user), plan)
    try:
        words = services.take_back(row, seen_version(request))
    except ChangedMeanwhile:
        messages.warning(request, CHANGED_WORDS)
    else:
        messages.success(request, f"{words[:1].upper()}{words[1:]}.")
    return redirect("plans:editor", row.public_id)


@signed_in
@require_POST
def keep(request: HttpRequest, plan: UUID) -> HttpResponse:
    """Keep the draft as a version."""
    row = own(visible_plans(request.user), plan)
    form = KeepForm(request.POST)

    def save() -> HttpResponse:
        by, note = signed_in_person(request), form.cleaned_data["note"]
        kept = services.keep_version(by, row, form.seen_version, note, timezone.now())
        messages.success(
            request, f"Version {kept.number} is kept. Portfolios stay with theirs until you move them."
        )
        return redirect("plans:plan", row.public_id)

    def stored() -> dict[str, Any]:
        row.refresh_from_db()
        return {"version": row.version}

    try:
        answer, status = save_form(form, save, stored)
    except services.NothingNew as same:
        form.add_error(None, f"Version {same.version.number} says the same; there is nothing new to keep.")
        answer, status = None, 422
    return answer or _editor_page(request, row, form, status)


def _editor_page(request: HttpRequest, row: Plan, form: KeepForm, status: int = 200) -> HttpResponse:
    shown = plan_shown(request.user, row)
    at = request.GET.get("at", "")
    context = {
        "plan": shown,
        "sections": [_section(shown, key, at) for key in SECTIONS if key != ABOUT.key],
        "about_focus": at.startswith(f"{ABOUT.key}:"),
        "form": form,
    }
    return render(request, "plans/editor.html", context, status=status)


def _section(shown: PlanShown, key: str, at: str) -> SectionLines:
    found: tuple[Entry, ...] = getattr(shown.draft, key)
    last = len(found) - 1
    section = SECTIONS[key]
    lines = tuple(
        EntryLine(
            entry, place == 0, place == last, _focus(f"{key}:{entry.key}:", at, place == 0, place == last)
        )
        for place, entry in enumerate(found)
    )
    removed = at.startswith(f"{key}:") and at.endswith(":remove")
    return SectionLines(
        key, section.heading, section.one, section.about, lines, last > 0, "add" if removed else ""
    )


def _focus(start: str, at: str, first: bool, last: bool) -> str:
    """The button of this entry that gets the keyboard: the one pressed before, as long as it can go on."""
    pressed = at.removeprefix(start) if at.startswith(start) else ""
    return {"up": "down" if first else "up", "down": "up" if last else "down", "saved": "change"}.get(
        pressed, ""
    )


def _to_editor(row: Plan, section: str, item: str, what: str) -> HttpResponse:
    return redirect(editor_address(row, section, item, what))


def editor_address(row: Plan, section: str, item: str, what: str) -> str:
    """The editor at the entry that was just dealt with, so that the keyboard goes on from there.

    Without a fragment: browsers heed no `autofocus` where the address has one.
    """
    query = urlencode({"at": f"{section}:{item}:{what}"}, safe=":")
    return f"{reverse('plans:editor', args=[row.public_id])}?{query}"
