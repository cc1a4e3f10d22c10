"""A PostgreSQL server for one test run: a temporary cluster that listens on a socket in its own folder only."""

import contextlib
import os
import pwd
import re
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

START_SECONDS = 60
UNNEEDED = ("fsync", "full_page_writes", "autovacuum", "jit")
"""Nothing has to outlive a power cut here; and statistics taken by the way while tables are empty between two tests would let
the planner take the hundreds of rows of a test for none."""


def newest_binaries() -> Path:
    """Folder with `initdb` and `postgres` of the highest version installed."""
    folders = {path.parent for path in Path("/usr/lib/postgresql").glob("*/bin/initdb")}
    folders |= {Path("/usr/local/bin"), Path("/usr/local/pgsql/bin")}
    found = shutil.which("initdb")
    if found:
        folders.add(Path(found).resolve().parent)
    versions = {}
    for folder in folders:
        if (folder / "initdb").exists() and (folder / "postgres").exists():
            said = subprocess.run(
                [folder / "postgres", "--version"], capture_output=True, text=True, check=True
            )
            number = re.search(r"(\d+)(?:\.(\d+))?", said.stdout)
            versions[tuple(int(part or 0) for part in number.groups()) if number else (0,)] = folder
    if not versions:
        raise FileNotFoundError("No PostgreSQL server found. Install it: apt-get install postgresql")
    return versions[max(versions)]


def _server_user() -> str | None:
    """The server refuses to run as root; then it runs as `postgres`, or as `nobody` where that is missing."""
    if os.geteuid() != 0:
        return None
    names = {entry.pw_name for entry in pwd.getpwall()}
    return "postgres" if "postgres" in names else "nobody"


@contextlib.contextmanager
def temporary_cluster(port: int | None = None) -> Iterator[str]:
    """Starts a cluster and gives its address for FOLIOWRIGHT_DATABASE; stopped by its own process id.

    With a port it answers at 127.0.0.1 too, where it asks for passwords.
    """
    binaries = newest_binaries()
    user = _server_user()
    folder = Path(
        tempfile.mkdtemp(prefix="foliowright-postgresql-", dir="/tmp")
    )  # short: sockets allow 107 bytes
    server: subprocess.Popen[bytes] | None = None
    environment = {"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8", "HOME": str(folder)}
    try:
        if user:
            shutil.chown(folder, user)
        folder.chmod(0o700 if not user else 0o755)
        data = folder / "data"
        subprocess.run(
            [
                *(binaries / "initdb", "-D", data, "-U", "postgres", "-E", "UTF8", "--no-sync"),
                *("--auth-local=trust", "--auth-host=scram-sha-256"),
            ],
            check=True,
            stdout=subprocess.DEVNULL,
            user=user,
            group=pwd.getpwnam(user).pw_gid if user else None,
            extra_groups=[] if user else None,
            env=environment,
            cwd="/",
        )
        options = {"listen_addresses": "", "unix_socket_directories": str(folder)}
        options |= dict.fromkeys(UNNEEDED, "off")
        if port:
            options |= {"listen_addresses": "127.0.0.1", "port": str(port)}
        with (folder / "log").open("wb") as log:
            server = subprocess.Popen(
                [binaries / "postgres", "-D", data, *(f"--{k}={v}" for k, v in options.items())],
                stdout=log,
                stderr=log,
                stdin=subprocess.DEVNULL,
                user=user,
                group=pwd.getpwnam(user).pw_gid if user else None,
                extra_groups=[] if user else None,
                env=environment,
                cwd="/",
                start_new_session=True,  # Ctrl-C is for the tests; the server is stopped below
            )
        _wait_until_ready(server, data, folder / "log")
        yield f"postgresql://postgres@{f':{port}' if port else ''}/postgres?host={quote(str(folder))}"
    finally:
        if server is not None:
            server.send_signal(signal.SIGINT)  # "fast": ends sessions, then stops
            try:
                server.wait(30)
            except subprocess.TimeoutExpired:
                server.kill()
                server.wait()
        shutil.rmtree(folder, ignore_errors=True)


def _wait_until_ready(server: "subprocess.Popen[bytes]", data: Path, log: Path) -> None:
    """Returns once the server says in its own pid file that it takes connections."""
    end = time.monotonic() + START_SECONDS
    while time.monotonic() < end:
        if server.poll() is not None:
            break
        try:
            if "ready" in (data / "postmaster.pid").read_text():
                return
        except FileNotFoundError:
            pass
        time.sleep(0.05)
    raise RuntimeError(f"PostgreSQL did not start:\n{log.read_text()[-2000:]}")
