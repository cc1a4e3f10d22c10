"""What protects pages and logs: secret key, content policy, private pages, cookies, log lines without identifiers."""

import copy
import hashlib
import logging
import os
import re
import secrets
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from csp.constants import NONCE, NONE, SELF
from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseBase, StreamingHttpResponse

KEY_FILE = "secret-key"
SESSION_SECONDS = 12 * 60 * 60  # a working day, used or not; closing the browser ends it sooner
SESSION_IDLE_SECONDS = 2 * 60 * 60  # long enough for a case measured with caliper in hand

# `data:` pictures: the small icons in the style sheet and the code for the authenticator app.
CONTENT_SECURITY_POLICY: dict[str, Any] = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF, NONCE],
        "style-src": [SELF],
        "img-src": [SELF, "data:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
        "base-uri": [NONE],
        "object-src": [NONE],
    }
}


def secret_key(data: Path) -> str:
    """The key of this data folder; a key for this process alone where the folder has none yet.

    Commands that need no server (scoring a file, checks) thus run without a data folder and never with a known key.
    """
    try:
        key = (data / KEY_FILE).read_text(encoding="ascii").strip()
    except FileNotFoundError:
        key = ""
    return key or secrets.token_urlsafe(50)


def make_secret_key(data: Path) -> None:
    """Writes the key file once, readable by its owner only; a half-written or second key cannot come about."""
    target = data / KEY_FILE
    if target.exists():
        return
    data.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=data, prefix=f".{KEY_FILE}-")  # mkstemp makes the file with mode 600
    try:
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(secrets.token_urlsafe(50) + "\n")
            file.flush()
            os.fsync(file.fileno())
        try:
            os.link(name, target)  # fails where another process was first; its key then holds
        except FileExistsError:
            return
    finally:
        os.unlink(name)


def cookie_name(purpose: str, data: Path, https: bool = False) -> str:
    """The name of a cookie of one installation: cookies know hosts only, not the ports that tell two apps apart.

    With https it begins with `__Host-`: browsers then take it from this very host by https alone (RFC 6265bis, 4.1.3).
    """
    installation = hashlib.sha256(str(data).encode()).hexdigest()[:8]
    return f"{'__Host-' if https else ''}foliowright_{purpose}_{installation}"


def cookie_names(request: HttpRequest) -> dict[str, str]:
    """For every template: the cookie in which page scripts find the token that each form carries."""
    return {"csrf_cookie_name": settings.CSRF_COOKIE_NAME}


def private_pages(
    get_response: Callable[[HttpRequest], HttpResponseBase],
) -> Callable[[HttpRequest], HttpResponseBase]:
    """Middleware: no page made by the app is kept by a browser or proxy; static files are served before it."""

    def answer(request: HttpRequest) -> HttpResponseBase:
        response = get_response(request)
        response.headers["Cache-Control"] = "no-store, private"
        response.headers["Permissions-Policy"] = "camera=(), geolocation=(), microphone=()"
        return response

    return answer


def headers_only(
    get_response: Callable[[HttpRequest], HttpResponseBase],
) -> Callable[[HttpRequest], HttpResponseBase]:
    """Middleware: HEAD is answered with the headers alone; the server complains of a body (RFC 9110, 9.3.2)."""

    def answer(request: HttpRequest) -> HttpResponseBase:
        response = get_response(request)
        if request.method == "HEAD":
            if isinstance(response, StreamingHttpResponse):
                response.streaming_content = ()
            elif isinstance(response, HttpResponse):
                response.content = b""
        return response

    return answer


_MASKS = (
    (re.compile(r"[0-9a-f]{8}-(?:[0-9a-f]{4}-){3}[0-9a-f]{12}", re.IGNORECASE), "<id>"),
    (re.compile(r"(/welcome/)[^/\s'\"]+"), r"\1<token>"),
    (re.compile(r"[\w.+-]+@[\w-]+(?:\.[\w-]+)+"), "<address>"),
    (re.compile(r"\?[^\s'\"]*=[^\s'\"]*"), "?<query>"),
    (re.compile(r"(Key \([^)]*\)=)\(.*?\)(?= (?:already|is not|conflicts))"), r"\1(<value>)"),
    (re.compile(r"(Failing row contains ).*"), r"\1<values>"),
)


def mask(text: str) -> str:
    """The text without public ids, link tokens, e-mail addresses, queries and values quoted by the database."""
    for pattern, instead in _MASKS:
        text = pattern.sub(instead, text)
    return text


class MaskedFormatter(logging.Formatter):
    """Formats a record, traceback included, in UTC, and then masks what could name a person or a record."""

    @staticmethod
    def converter(seconds: float | None) -> time.struct_time:
        return time.gmtime(seconds)

    def format(self, record: logging.LogRecord) -> str:
        return mask(super().format(copy.copy(record)))


def refused_host_in_a_line(record: logging.LogRecord) -> bool:
    """Logging filter: a request by a foreign name is no fault of the app and needs one line, in words of its settings."""
    record.levelno, record.levelname, record.exc_info = logging.WARNING, "WARNING", None
    record.msg = str(record.msg).replace("ALLOWED_HOSTS", "FOLIOWRIGHT_HOSTS")
    return True


def logging_without_identifiers(level: str) -> dict[str, Any]:
    """Logging to standard error, masked; nothing is mailed."""
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {
            "masked": {"()": MaskedFormatter, "format": "%(asctime)sZ %(levelname)s %(name)s: %(message)s"}
        },
        "filters": {"refused_host": {"()": lambda: refused_host_in_a_line}},
        "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "masked"}},
        "root": {"handlers": ["stderr"], "level": level},
        "loggers": {
            "django": {"handlers": [], "level": level, "propagate": True},
            "django.security.DisallowedHost": {"filters": ["refused_host"]},
            "foliowright.security": {"level": "INFO"},
            # Its records carry the SQL with the values in it.
            "django.db.backends": {"level": "WARNING"},
        },
    }
