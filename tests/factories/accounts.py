"""Makes people for tests, and the small cast that every permission test uses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import factory
from allauth.mfa.models import Authenticator
from allauth.mfa.recovery_codes.internal.auth import RecoveryCodes
from allauth.mfa.totp.internal.auth import TOTP, generate_totp_secret
from allauth.mfa.webauthn.internal.auth import WebAuthn
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, generate_private_key
from django.test import Client
from fido2.cose import ES256
from fido2.webauthn import (
    Aaguid,
    AttestationObject,
    AttestedCredentialData,
    AuthenticatorAttestationResponse,
    AuthenticatorData,
    CollectedClientData,
    RegistrationResponse,
)

from accounts.models import User

PASSWORD = "plaster and wax 34"
BACKEND = "allauth.account.auth_backends.AuthenticationBackend"


class PersonFactory(factory.django.DjangoModelFactory):
    """A person with an invented name and the password above."""

    class Meta:
        model = User
        skip_postgeneration_save = True

    name = factory.Sequence(lambda number: f"Person {number}")
    email = factory.Sequence(lambda number: f"person{number}@clinic.example")

    @classmethod
    def _create(cls, model_class: type[User], *args: Any, **kwargs: Any) -> User:
        password = kwargs.pop("password", PASSWORD)
        return model_class.objects.create_user(kwargs.pop("email"), password, **kwargs)


def person(**fields: Any) -> User:
    """One person; `password=None` for one who has never chosen a password."""
    made: User = PersonFactory(**fields)
    return made


@dataclass(frozen=True)
class Cast:
    """The same people in every permission test."""

    owner: User
    another: User
    administrator: User
    deactivated: User


def the_cast() -> Cast:
    """Odile owns, Piet is somebody else, Ruta manages accounts, Sven has been deactivated."""
    return Cast(
        owner=person(name="Odile Marchetti", email="odile@clinic.example"),
        another=person(name="Piet Vandermeulen", email="piet@clinic.example"),
        administrator=person(name="Ruta Balcytis", email="ruta@clinic.example", administrator=True),
        deactivated=person(name="Sven Aakjaer", email="sven@clinic.example", is_active=False),
    )


def signed_in(who: User, **options: Any) -> Client:
    """A browser in which this person is signed in."""
    client = Client(**options)
    client.force_login(who, backend=BACKEND)
    return client


def signed_in_and_confirmed(who: User) -> Client:
    """A browser in which this person is signed in and has just typed the password once more."""
    client = signed_in(who)
    client.post("/accounts/reauthenticate/", {"password": PASSWORD})
    return client


def with_authenticator_app(who: User) -> str:
    """Give a person an authenticator app and recovery codes; the app's secret."""
    secret: str = generate_totp_secret()
    TOTP.activate(who, secret)
    RecoveryCodes.activate(who)
    return secret


def with_security_key(who: User) -> int:
    """Give a person a security key that no device answers to; its number."""
    identity = b"invented key"
    public = ES256.from_cryptography_key(generate_private_key(SECP256R1()).public_key())  # type: ignore[no-untyped-call]
    credential = AttestedCredentialData.create(Aaguid(bytes(16)), identity, public)
    flags = AuthenticatorData.FLAG.UP | AuthenticatorData.FLAG.AT
    data = AuthenticatorData.create(bytes(32), flags, 0, credential)
    created = CollectedClientData.create("webauthn.create", bytes(32), "https://clinic.example")
    told = RegistrationResponse(
        raw_id=identity,
        response=AuthenticatorAttestationResponse(
            client_data=created, attestation_object=AttestationObject.create("none", data, {})
        ),
    )
    key = Authenticator.objects.create(
        user=who,
        type=Authenticator.Type.WEBAUTHN,
        data={"name": "Invented key", "credential": dict(told)},
    )
    WebAuthn(key)
    return int(key.pk)


def searched(browser: Client, address: str, words: str, **narrowed: str) -> str:
    """The page of a list after its search form was sent."""
    sent = {"list": address, "search": words, **narrowed}
    return browser.post("/search/", sent, follow=True).content.decode()
