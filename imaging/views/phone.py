"""Pictures by phone: asking for a one-time code, how far it is, and the page that the phone opens.

The phone's page asks for no sign-in beyond the code and shows nothing of the case but the kind of picture asked for.
"""

import uuid
from uuid import UUID

import qrcode
from allauth.core.ratelimit import consume
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.debug import sensitive_post_parameters, sensitive_variables
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.admission import from_page_script, signed_in, signed_in_person
from accounts.error_pages import too_many_tries
from imaging.intake_limits import LARGEST_BYTES
from imaging.phone import selectors, services
from imaging.phone.forms import AskForm, CodeForm
from imaging.phone.services import Asked, CannotAsk, HandedIn, NotHandedIn
from imaging.views.answering import record_set_or_404
from portfolio.access import visible_sheets
from portfolio.models import RecordSet, Sheet
from portfolio.services.saving import OutOfDate

REFUSED = 422
THIS_MACHINE = ("127.0.0.1", "localhost", "[::1]")
QUIET_EDGE = 4
"""Modules of white round a code, as its standard asks (ISO/IEC 18004, from memory)."""


@signed_in
@require_http_methods(["GET", "HEAD", "POST"])
@sensitive_variables("code")
def ask(request: HttpRequest, record_set: UUID) -> HttpResponse:
    """Ask for a code for one picture of these records, and show it once."""
    row, by = record_set_or_404(request, record_set), signed_in_person(request)
    sheet = selectors.own_sheet(by, row)
    found = selectors.choices(sheet, _notation(row))
    if request.method != "POST":
        asked_for = request.GET.get("for", "")
        form = AskForm(
            found=found, initial={"public_id": uuid.uuid4(), "view": "witness", "finding": asked_for}
        )
        return render(request, "imaging/phone_ask.html", {**_place(row), "form": form})
    form = AskForm(request.POST, found=found)
    status = REFUSED
    if form.is_valid():
        given = form.cleaned_data
        try:
            made, code = services.ask(
                by, row, given["public_id"], _asked(given["view"], given["finding"], sheet), timezone.now()
            )
        except CannotAsk as fault:
            form.add_error(None, str(fault))
        except OutOfDate:
            form.add_error(None, "This page was out of date. Open it once more.")
        else:
            return _show(request, row, made.public_id, code)
    return render(request, "imaging/phone_ask.html", {**_place(row), "form": form}, status=status)


@signed_in
@require_safe
def witness(request: HttpRequest, sheet: UUID) -> HttpResponse:
    """From a finding of a sheet to the page that asks for a code, with the finding chosen."""
    row = get_object_or_404(visible_sheets(request.user).select_related("record_set"), public_id=sheet)
    address = reverse("imaging:phone_ask", args=[row.record_set.public_id])
    return redirect(f"{address}?{urlencode({'for': request.GET.get('for', '')[:100]})}")


@signed_in
@require_safe
def code(request: HttpRequest, phone_code: UUID) -> HttpResponse:
    """How far a code is; for the page's script that part alone."""
    by = signed_in_person(request)
    row = services.own(by, phone_code)
    if row is None:
        raise Http404
    if not from_page_script(request):
        return _show(request, row.record_set, phone_code, "")
    standing = selectors.standing(by, phone_code, _notation(row.record_set), timezone.now())
    return render(request, "imaging/parts/phone_standing.html", {"standing": standing})


@signed_in
@require_POST
def cancel(request: HttpRequest, phone_code: UUID) -> HttpResponse:
    """Call a code off."""
    row = services.own(signed_in_person(request), phone_code)
    if row is None:
        raise Http404
    services.cancel(row, timezone.now())
    return redirect("imaging:phone_code", phone_code)


@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
@sensitive_post_parameters("code")
@sensitive_variables("typed", "form")
def phone(request: HttpRequest) -> HttpResponse:
    """The page that a phone opens: the code, then the camera, then done."""
    if request.method != "POST":
        return render(request, "imaging/phone.html", {"form": CodeForm()})
    if not consume(request, action="phone_code"):
        return too_many_tries(request)
    form = CodeForm(request.POST)
    if not form.is_valid():
        return render(request, "imaging/phone.html", {"form": form}, status=REFUSED)
    typed, now = form.cleaned_data["code"], timezone.now()
    found = services.find(typed, now)
    if isinstance(found, NotHandedIn):
        return render(request, "imaging/phone_spent.html", {"words": found.words}, status=REFUSED)
    wanted = {
        "code": typed,
        "wanted": selectors.wanted_words(found),
        "finding": selectors.finding_words(found, _notation(found.record_set)),
        "hint": selectors.hint(found),
    }
    if "send" not in request.POST:
        return render(request, "imaging/phone_picture.html", wanted)
    file = request.FILES.get("picture")
    if file is None:
        shown = {**wanted, "fault": "Take or choose a picture first."}
        return render(request, "imaging/phone_picture.html", shown, status=REFUSED)
    answer = services.hand_in(typed, file.read(LARGEST_BYTES + 1), now)
    if isinstance(answer, HandedIn):
        return render(request, "imaging/phone_done.html", wanted)
    if answer.again:
        return render(
            request, "imaging/phone_picture.html", {**wanted, "fault": answer.words}, status=REFUSED
        )
    return render(request, "imaging/phone_spent.html", {"words": answer.words}, status=REFUSED)


def _asked(view: str, finding: str, sheet: Sheet | None) -> Asked:
    if not finding or sheet is None:
        return Asked(view)
    quantity, site, nth = finding.split("/")
    return Asked(view, sheet, (quantity, site, int(nth)))


def _show(request: HttpRequest, row: RecordSet, public_id: UUID, code: str) -> HttpResponse:
    by = signed_in_person(request)
    address = request.build_absolute_uri(reverse("imaging:phone"))
    host = request.get_host()
    context = {
        **_place(row),
        "code": code,
        "address": address,
        "standing": selectors.standing(by, public_id, _notation(row), timezone.now()),
        "squares": _squares(f"{address}#{code}") if code else None,
        "this_machine": host.partition(":")[0] in THIS_MACHINE or host.startswith("[::1]"),
    }
    return render(request, "imaging/phone_code.html", context)


def _squares(text: str) -> dict[str, object]:
    """A two-dimensional code as one SVG path of unit squares, and its side with the quiet edge.

    The code stands behind # in the address, which a browser keeps to itself: no server or log sees it.
    """
    made = qrcode.QRCode(border=QUIET_EDGE)
    made.add_data(text)
    made.make(fit=True)
    matrix = made.get_matrix()
    dark = [(x, y) for y, line in enumerate(matrix) for x, on in enumerate(line) if on]
    return {"side": len(matrix), "path": "".join(f"M{x} {y}h1v1h-1z" for x, y in dark)}


def _notation(row: RecordSet) -> str:
    return row.case.patient.portfolio.notation


def _place(row: RecordSet) -> dict[str, object]:
    return {"record_set": row.public_id, "case_id": row.case.public_id, "case_code": row.case.code}
