"""Served to others by name: a browser that comes by https through a proxy, and one that tries to go round it."""

from __future__ import annotations

import datetime
import http.client
import ssl
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID
from playwright.sync_api import Page, expect

from running.management.commands.serve import listen
from tests.browser.serving import OVERJET, Served, come_in, measure_overjet, start, start_case, stop
from tests.prepared import furnish

NAME = "portfolio.localhost"  # browsers look such names up on this machine (RFC 6761, 6.3)
FIRST_PORT = 8300


def certificate(folder: Path) -> Path:
    """A key and a certificate for NAME that nobody has signed, in one file."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, NAME)])
    now = datetime.datetime.now(datetime.UTC)
    made = (
        x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number())
        .not_valid_before(now - datetime.timedelta(days=1))
        .not_valid_after(now + datetime.timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(NAME)]), critical=False)
        .sign(key, hashes.SHA256())
    )
    file = folder / "certificate.pem"
    file.write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
        )
        + made.public_bytes(serialization.Encoding.PEM)
    )
    return file


@contextmanager
def proxy(app_port: int, folder: Path) -> Iterator[str]:
    """A proxy that holds a certificate: passes requests on to the app as proxies do; its https address."""

    class PassOn(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def do_GET(self) -> None:
            headers = {name: value for name, value in self.headers.items() if name.lower() != "connection"}
            headers |= {"X-Forwarded-Proto": "https", "X-Forwarded-For": "198.51.100.1"}
            body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
            app = http.client.HTTPConnection("127.0.0.1", app_port, timeout=60)
            app.request(self.command, self.path, body or None, headers)
            answer = app.getresponse()
            content = answer.read()
            self.send_response_only(answer.status)
            for name, value in answer.getheaders():
                if name.lower() not in ("connection", "transfer-encoding", "content-length"):
                    self.send_header(name, value)
            self.send_header("Content-Length", str(len(content)))
            self.end_headers()
            self.wfile.write(content)
            app.close()

        do_POST = do_HEAD = do_GET

        def log_message(self, format: str, *arguments: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), PassOn)
    server.daemon_threads = True
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate(folder))
    server.socket = context.wrap_socket(server.socket, server_side=True, do_handshake_on_connect=False)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05})
    thread.start()
    try:
        yield f"https://{NAME}:{server.server_port}"
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


@pytest.fixture(scope="module")
def app_port() -> int:
    """A free port; the app takes exactly this one, because a proxy asks there."""
    with listen(FIRST_PORT) as listener:
        return int(listener.getsockname()[1])


@pytest.fixture(scope="module")
def served(app_port: int, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("served")
    process, found = start(
        furnish(folder / "data"), port=app_port, FOLIOWRIGHT_HOSTS=NAME, FOLIOWRIGHT_HTTPS_PROXY="127.0.0.1"
    )
    assert found.address == f"https://{NAME}"
    with proxy(app_port, folder) as address:
        yield Served(address, found.data, found.setup_code)
    assert stop(process) == 0
    log = (folder / "data-errors.txt").read_text()
    assert "ERROR" not in log, log
    assert "Traceback" not in log, log


@pytest.fixture
def browser_context_args(browser_context_args: dict[str, Any]) -> dict[str, Any]:
    return {**browser_context_args, "ignore_https_errors": True}


def test_by_https_a_case_is_measured_and_every_cookie_is_kept_to_https_and_this_host(
    page: Page, served: Served
) -> None:
    come_in(page, served)
    sheet = measure_overjet(page, start_case(page), "6.5")
    page.goto(sheet)
    expect(page.locator(OVERJET)).to_have_value("6.5")
    cookies = page.context.cookies()
    assert {cookie["name"].rpartition("_")[0] for cookie in cookies} == {
        "__Host-foliowright_session",
        "__Host-foliowright_csrf",
    }
    assert all(cookie["secure"] and cookie["domain"] == NAME for cookie in cookies)
    assert urlsplit(page.url).scheme == "https"


def test_plain_http_is_sent_on_to_https_and_another_name_is_refused(app_port: int, served: Served) -> None:
    def ask(host: str, **headers: str) -> tuple[int, str | None]:
        connection = http.client.HTTPConnection("127.0.0.1", app_port, timeout=20)
        connection.request("GET", "/accounts/login/", headers={"Host": host, **headers})
        answer = connection.getresponse()
        connection.close()
        return answer.status, answer.getheader("Location")

    assert ask(NAME) == (301, f"https://{NAME}/accounts/login/")
    assert ask("elsewhere.example", **{"X-Forwarded-Proto": "https"})[0] == 400
    assert ask(NAME, **{"X-Forwarded-Proto": "https"})[0] in (200, 302)
