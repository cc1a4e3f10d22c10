"""The form of one entry of a plan: a slot, a rule, a window, a record rule, or the plan as a whole."""

from collections.abc import Sequence
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from accounts.admission import signed_in
from plans import services
from plans.access import visible_plans
from plans.editing import entries, shown, steps
from plans.editing.parts import ABOUT, SECTIONS, Section
from plans.editing.typed import Tree, from_sent
from plans.models import Plan
from plans.outline import Entry, outline
from plans.selectors.plans import draft_plan
from plans.views.editing import editor_address
from plans.views.sent import seen_version
from portfolio.finding_sheet import Fault
from portfolio.services.saving import ChangedMeanwhile
from portfolio.views.saving import CHANGED, REFUSED, own

SAVE, LOOK = "save", "look"
GONE = "This entry was removed in another window. What you typed stands below; saving puts it in anew."
OTHER = "The plan was changed in another window after you had opened this form. What you typed stands below; saving again"


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
def entry(request: HttpRequest, plan: UUID, section: str, item: str) -> HttpResponse:
    """One entry: nothing is saved before the button that says so, whatever is added or removed in the form."""
    row = own(visible_plans(request.user), plan)
    if section not in SECTIONS:
        raise Http404
    found = SECTIONS[section]
    what = request.POST.get("do", "")
    try:
        stored = entries.tree_of(row.draft, section, item)
    except entries.NoEntry:
        if not what or section == ABOUT.key:
            raise Http404 from None
        return _page(request, row, found, entries.NEW, _sent(request, found), CHANGED, changed=GONE)
    if request.method != "POST":
        return _page(request, row, found, item, stored)
    tree = _sent(request, found)
    if what not in ("", SAVE):
        changed = steps.after(tree, found.parts, what)
        focus = steps.focus_after(tree, changed, found.parts, what)
        return _page(request, row, found, item, changed, seen=seen_version(request), focus=focus)
    return _save(request, row, found, item, tree)


def _sent(request: HttpRequest, section: Section) -> Tree:
    tree = from_sent(request.POST, section.parts)
    return tree | {steps.REMOVED: request.POST.get(steps.REMOVED, "")}


def _save(request: HttpRequest, row: Plan, section: Section, item: str, tree: Tree) -> HttpResponse:
    seen = seen_version(request)
    plan, faults = entries.with_tree(row.draft, section.key, item, tree)
    if plan is None:
        return _page(request, row, section, item, tree, REFUSED, faults=faults, seen=seen)
    label = entries.label_of(row.draft, section.key, item)
    words = f"{label} put in" if item == entries.NEW else f"{label} changed"
    try:
        if row.version != seen:
            raise ChangedMeanwhile
        changed = services.edit_draft(row, seen, plan, words)
    except ChangedMeanwhile:
        row.refresh_from_db()
        return _changed_meanwhile(request, row, section, item, tree)
    if changed:
        messages.success(request, f"Saved: {words}.")
    key = _key_of(row, section, item)
    return redirect(editor_address(row, section.key, key, "saved"))


def _key_of(row: Plan, section: Section, item: str) -> str:
    """The key of an entry that was just saved."""
    if item != entries.NEW:
        return item
    rows = row.draft[section.key]
    return str(rows[-1].get("key", len(rows) - 1))


def _changed_meanwhile(
    request: HttpRequest, row: Plan, section: Section, item: str, tree: Tree
) -> HttpResponse:
    """Tell what stands there now.  The same form sent twice is no conflict: what it says is there already."""
    typed = {key: value for key, value in tree.items() if key != steps.REMOVED}
    try:
        there = _key_of(row, section, item) if row.draft.get(section.key) else item
        if entries.tree_of(row.draft, section.key, there) == typed:
            return redirect(editor_address(row, section.key, there, "saved"))
        stored = _entry_of(row, section, item)
    except entries.NoEntry:
        return _page(request, row, section, entries.NEW, tree, CHANGED, changed=GONE)
    if item == entries.NEW:
        return _page(
            request, row, section, item, tree, CHANGED, changed=f"{OTHER} adds it to the plan as it is now."
        )
    return _page(
        request,
        row,
        section,
        item,
        tree,
        CHANGED,
        changed=f"{OTHER} replaces what stands there now:",
        stored=stored,
    )


def _entry_of(row: Plan, section: Section, item: str) -> tuple[str, ...]:
    """What an entry says as it is stored."""
    said = outline(draft_plan(row))
    if section is ABOUT:
        return (said.name, *said.about, said.order, *said.text)
    if item == entries.NEW:
        return ()
    lines: Sequence[Entry] = getattr(said, section.key)
    found = lines[entries.place_of(row.draft, section.key, item)]
    return (f"{found.label}:", *found.lines) if found.label else found.lines


def _page(
    request: HttpRequest,
    row: Plan,
    section: Section,
    item: str,
    tree: Tree,
    status: int = 200,
    *,
    faults: Sequence[Fault] = (),
    changed: str = "",
    stored: Sequence[str] = (),
    seen: int | None = None,
    focus: str = "",
) -> HttpResponse:
    told = shown.messages_of(faults)
    parts = shown.shown(tree, section.parts, told)
    context = {
        "plan_id": row.public_id,
        "plan_name": row.name,
        "section": section,
        "item": item,
        "label": entries.label_of(row.draft, section.key, item),
        "parts": parts,
        "version": row.version if seen is None else seen,
        "refused": bool(faults),
        "general": [shown.beside(fault.message) for fault in faults if not fault.where],
        "changed": changed,
        "stored": stored,
        "removed": tree.get(steps.REMOVED, ""),
        "sentences": ",".join(f"#{name}" for name in shown.sentence_ids(parts)),
        "unfinished": shown.UNFINISHED,
        "focus": focus,
    }
    return render(request, "plans/entry.html", context, status=status)
