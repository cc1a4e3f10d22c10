"""One-time codes for pictures by phone, made for tests as their page makes them."""

from __future__ import annotations

import uuid

from django.utils import timezone

from accounts.models import User
from imaging.models import PhoneCode
from imaging.phone import services
from portfolio.models import RecordSet
from tests.factories.portfolio import case_of, record_set_of

WITNESS = services.Asked("witness")


def asked_code(owner: User, record_set: RecordSet, asked: services.Asked = WITNESS) -> tuple[PhoneCode, str]:
    """A code for one picture, and the code itself."""
    return services.ask(owner, record_set, uuid.uuid4(), asked, timezone.now())


def phone_code_of(owner: User) -> PhoneCode:
    """A code that a person has asked for, for a new case."""
    return asked_code(owner, record_set_of(case_of(owner)))[0]
