"""How second factors are kept: secrets encrypted with the data folder's key, refusals noted without names."""

import base64
import hashlib
import secrets
from typing import Any

from allauth.mfa.adapter import DefaultMFAAdapter
from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from django.conf import settings
from django.core.exceptions import ValidationError

from accounts.security_log import note


class EncryptedSecrets(DefaultMFAAdapter):
    """Second-factor adapter: what the database holds cannot be read without the secret key."""

    error_messages = DefaultMFAAdapter.error_messages | {
        "incorrect_code": "This code is not right. Codes change every half minute; a recovery code works once.",
    }

    def encrypt(self, text: str) -> str:
        return _boxes().encrypt(text.encode()).decode()

    def decrypt(self, encrypted_text: str) -> str:
        """The secret; after a change of the secret key a random one that fits no code.

        Nobody gets in by that: the administrator removes the second factor, the person sets it up anew.
        """
        try:
            return _boxes().decrypt(encrypted_text.encode()).decode()
        except InvalidToken:
            note("second factor unreadable because the secret key has changed")
            return base64.b32encode(secrets.token_bytes(20)).decode()

    def validation_error(self, code: str, *args: Any) -> ValidationError:
        if code == "incorrect_code":
            note("second factor refused")
        refusal: ValidationError = super().validation_error(code, *args)
        return refusal


def _boxes() -> MultiFernet:
    keys = [settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS]
    return MultiFernet([Fernet(_fernet_key(key)) for key in keys])


def _fernet_key(secret: str | bytes) -> bytes:
    raw = secret.encode() if isinstance(secret, str) else secret
    return base64.urlsafe_b64encode(hashlib.sha256(b"accounts.second_factor:" + raw).digest())
