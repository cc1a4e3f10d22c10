"""What stands in the addresses of the app: one entry for each argument of a URL pattern.

To add one: a line in ARGUMENTS under the argument's name in the pattern (`<uuid:sheet>` is "sheet"), or under
"desk:history.number" where one name means different things at different addresses. The function makes (or finds)
an object that belongs to the person and gives the text that stands in the address; it is called once for a person
in a test. `nowhere` is a text of the right form that belongs to nobody. What is the same for everybody (the key of
an index, the number of a change) is `shared`.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import dataclass

from django.utils import timezone

from accounts import services
from accounts.models import User
from scoring import services as scoring_services
from tests.factories.accounts import person, with_security_key
from tests.factories.filing import kept_backup
from tests.factories.imaging import picture_of
from tests.factories.jobs import job_of
from tests.factories.moving import asked, offered
from tests.factories.phone import phone_code_of
from tests.factories.plans import plan_of, version_of
from tests.factories.portfolio import (
    ConsentFactory,
    PatientFactory,
    PortfolioFactory,
    case_of,
    deleted_case_of,
    record_set_of,
    sheet_of,
)
from tests.factories.repeat_sheets import first_sheet_of, repeat_sheet_of
from tests.factories.repeats import repeat_of
from tests.factories.submissions import submission_of, submitted_of
from tests.factories.tracing import begun, radiograph_of
from tests.factories.treatment import event_of, removed_event_of


@dataclass(frozen=True)
class Argument:
    """One argument: how to make an object of a person's, and a text that names no object."""

    belonging_to: Callable[[User], str]
    nowhere: str
    shared: bool = False


NO_ROW = "00000000-0000-4000-8000-000000000000"


def shared(text: str, nowhere: str) -> Argument:
    """An argument that is the same for everybody."""
    return Argument(lambda who: text, nowhere, shared=True)


def _one_time_link(who: User) -> str:
    issued = services.issue_link(person(administrator=True), who, timezone.now())
    assert isinstance(issued, services.IssuedLink)
    return issued.secret


def _kept_score(who: User) -> str:
    return str(scoring_services.keep_score(who, sheet_of(who), "discrepancy", timezone.now()).run.public_id)


ARGUMENTS: dict[str, Argument] = {
    # accounts
    "accounts:person": Argument(lambda who: str(who.public_id), NO_ROW),
    "token": Argument(_one_time_link, "no-such-secret", shared=True),
    "mfa_remove_webauthn.pk": Argument(lambda who: str(with_security_key(who)), "987654"),
    "mfa_edit_webauthn.pk": Argument(lambda who: str(with_security_key(who)), "987654"),
    # jobs
    "job": Argument(lambda who: str(job_of(who).public_id), NO_ROW),
    # portfolio
    "portfolio": Argument(lambda who: str(PortfolioFactory(owner=who).public_id), NO_ROW),
    "patient": Argument(lambda who: str(PatientFactory(portfolio__owner=who).public_id), NO_ROW),
    "consent": Argument(lambda who: str(ConsentFactory(patient__portfolio__owner=who).public_id), NO_ROW),
    "case": Argument(lambda who: str(case_of(who).public_id), NO_ROW),
    "portfolio:case_restore.case": Argument(lambda who: str(deleted_case_of(who).public_id), NO_ROW),
    "portfolio:case_erase.case": Argument(lambda who: str(deleted_case_of(who).public_id), NO_ROW),
    "record_set": Argument(lambda who: str(record_set_of(case_of(who)).public_id), NO_ROW),
    "sheet": Argument(lambda who: str(sheet_of(who).public_id), NO_ROW),
    "move": Argument(lambda who: str(offered(who).public_id), NO_ROW),
    "portfolio:withdraw_move.move": Argument(lambda who: str(asked(who).public_id), NO_ROW),
    "event": Argument(lambda who: str(event_of(who).public_id), NO_ROW),
    "portfolio:event_put_back.event": Argument(lambda who: str(removed_event_of(who).public_id), NO_ROW),
    "portfolio:event_erase.event": Argument(lambda who: str(removed_event_of(who).public_id), NO_ROW),
    # imaging
    "picture": Argument(lambda who: str(picture_of(who).public_id), NO_ROW),
    "rendition": shared("screen", "original"),
    "phone_code": Argument(lambda who: str(phone_code_of(who).public_id), NO_ROW),
    "repeat": Argument(lambda who: str(repeat_of(radiograph_of(who)).tracing.public_id), NO_ROW),
    "tracing": Argument(lambda who: str(begun(radiograph_of(who)).public_id), NO_ROW),
    "norm": shared("steiner-sna-1", "no-such-norm"),
    "figure": shared("overjet-caliper", "no-such-figure"),
    # plans
    "plan": Argument(lambda who: str(plan_of(who).public_id), NO_ROW),
    "version": Argument(lambda who: str(version_of(who).public_id), NO_ROW),
    "shipped": shared("larkmoor_six", "no-such-plan"),
    "section": shared("slots", "no-such-section"),
    "item": shared("new", "no-such-entry"),
    "submission": Argument(lambda who: str(submission_of(who).public_id), NO_ROW),
    "submitted": Argument(lambda who: str(submitted_of(submission_of(who)).public_id), NO_ROW),
    # desk
    "repeat_sheet": Argument(lambda who: str(repeat_sheet_of(first_sheet_of(who)).sheet.public_id), NO_ROW),
    "backup": Argument(lambda who: str(kept_backup().public_id), NO_ROW),
    # scoring
    "index": shared("discrepancy", "no-such-index"),
    "run": Argument(_kept_score, NO_ROW),
}

OPEN_TO_EVERYBODY = frozenset(
    {
        "account_login",
        "account_logout",
        "account_inactive",
        "account_signup",
        "account_reset_password",
        "mfa_authenticate",
        "mfa_login_webauthn",
        "accounts:first_run",
        "accounts:welcome",
        "running:alive",
        "imaging:phone",
    }
)
"""Addresses that answer signed-out people; each shows nobody's records."""

ADMINISTRATORS_ONLY = frozenset(
    {
        "accounts:people",
        "accounts:person_new",
        "accounts:person",
        "accounts:one_time_link",
        "accounts:deactivate",
        "accounts:reactivate",
        "accounts:make_administrator",
        "accounts:unmake_administrator",
        "accounts:remove_second_factor",
        "desk:installation",
        "desk:make_backup",
        "desk:check_health",
        "desk:download_backup",
        "desk:rehearse",
        "desk:rehearse_backup",
    }
)
"""Addresses that do not exist for other people."""

STANDING = "standing scores are worked out and a copy is stored that may be deleted"
READING_MAY_WRITE = {
    "mfa_view_recovery_codes": "the package notes that the codes have been looked at",
    "mfa_download_recovery_codes": "the package notes that the codes have been looked at",
    "desk:home": STANDING,
    "desk:changes": STANDING,
    "desk:changes_csv": STANDING,
    "desk:changes_xlsx": STANDING,
    "plans:slots": STANDING,
    "plans:choice": STANDING,
    "plans:due": STANDING,
    "plans:due_file": STANDING,
    "plans:case_slots": STANDING,
    "plans:submission_new": STANDING,
}
"""Addresses whose GET changes a row, with the reason."""


def argument(address: str, name: str) -> Argument | None:
    """The entry for an argument of an address: under "address.name", "namespace:name" or the name alone."""
    namespace = address.rpartition(":")[0]
    for key in (f"{address}.{name}", f"{namespace}:{name}", name):
        if key in ARGUMENTS:
            return ARGUMENTS[key]
    return None


def random_public_id() -> str:
    """A public id that belongs to nothing."""
    return str(uuid.uuid4())
