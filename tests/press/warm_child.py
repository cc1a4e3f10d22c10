"""The printing child without its start: most of a short print's time goes into loading the library.

A server process loads what `press.child` loads and forks for each print; the fork gets the command, the environment, the
session and the limits that `press.services` gives a child of its own. Tests of the child itself, and of what it may
see, are marked `cold_press` and start the real one.

    python -m tests.press.warm_child SOCKET     the server; it ends when its standard input does
"""

from __future__ import annotations

import json
import os
import re
import selectors
import signal
import socket
import subprocess
import sys
import time
import traceback
import warnings
from pathlib import Path
from types import FrameType, ModuleType
from typing import Any

from press.services import ROOT

READY_SECONDS = 60


class WarmPress:
    """Starts children through one server, which is started at the first of them."""

    def __init__(self, folder: Path) -> None:
        self.address = str(folder / "press.socket")
        self.server: subprocess.Popen[bytes] | None = None

    def start(self, command: list[str], environment: dict[str, str], said: Path) -> WarmChild:
        """Takes the place of `press.services._start`."""
        if self.server is None:
            self.server = subprocess.Popen(
                [sys.executable, "-m", "tests.press.warm_child", self.address],
                cwd=ROOT,
                stdin=subprocess.PIPE,
                env={"PATH": "/usr/bin:/bin", "LANG": "C.UTF-8"},
            )
        assert command[:3] == [sys.executable, "-m", "press.child"], command
        asked = {"arguments": command[3:], "environment": environment, "said": str(said)}
        return WarmChild(self._connected(), asked)

    def _connected(self) -> socket.socket:
        until = time.monotonic() + READY_SECONDS
        while True:
            line = socket.socket(socket.AF_UNIX)
            try:
                line.connect(self.address)
                return line
            except OSError:
                line.close()
                if time.monotonic() > until:
                    raise
                time.sleep(0.05)

    def stop(self) -> None:
        if self.server is not None and self.server.stdin is not None:
            self.server.stdin.close()
            self.server.wait(20)


class WarmChild:
    """As much of `Popen` as `press.services` uses, of a child that the server forked."""

    def __init__(self, line: socket.socket, asked: dict[str, Any]) -> None:
        self._line = line
        self._answers = line.makefile("r")
        line.sendall(json.dumps(asked).encode() + b"\n")
        self.pid = int(self._answers.readline())
        self.returncode: int | None = None
        line.setblocking(False)

    def poll(self) -> int | None:
        if self.returncode is None:
            try:
                said = self._line.recv(64)
            except BlockingIOError:
                return None
            self.returncode = int(said)
            self._answers.close()
            self._line.close()
        return self.returncode

    def wait(self, timeout: float | None = None) -> int:
        until = None if timeout is None else time.monotonic() + timeout
        while self.poll() is None:
            if until is not None and time.monotonic() > until:
                raise subprocess.TimeoutExpired("press.child", timeout or 0)
            time.sleep(0.01)
        assert self.returncode is not None
        return self.returncode


def serve(address: str) -> None:
    """Forks a child for each connection, tells its process id at once and its end when it has ended."""
    from press import child  # what takes the time: loaded once, and in the server only

    warnings.simplefilter("ignore")
    _know_types()
    listening = socket.socket(socket.AF_UNIX)
    listening.bind(address)
    listening.listen()
    ended, ends = os.pipe()
    os.set_blocking(ends, False)
    signal.set_wakeup_fd(ends)
    signal.signal(signal.SIGCHLD, _noted)
    waits = selectors.DefaultSelector()
    for source in (listening, ended, 0):
        waits.register(source, selectors.EVENT_READ)
    lines: dict[int, socket.socket] = {}
    while True:
        for key, _events in waits.select():
            if key.fileobj is listening:
                line, _peer = listening.accept()
                with line.makefile("r") as reading:
                    asked = json.loads(reading.readline())
                pid = os.fork()
                if pid == 0:
                    signal.set_wakeup_fd(-1)
                    os.close(listening.detach())
                    os.close(line.detach())
                    _print(child, asked)
                os.setpgid(pid, pid)  # before its number is told, for it is ended by its group
                lines[pid] = line
                line.sendall(f"{pid}\n".encode())
            elif key.fileobj == ended:
                os.read(ended, 4096)
                _tell_ends(lines)
            else:
                return


def _know_types() -> None:
    """Lets the library read the C types it names once for all forks; each takes longer than setting a short line."""
    import weasyprint
    from weasyprint.text.ffi import ffi

    for file in Path(weasyprint.__file__).parent.rglob("*.py"):
        for said in re.findall(r"ffi\.(?:new|cast)\('([^']+)'", file.read_text(encoding="utf-8")):
            ffi.typeof(said)


def _noted(_number: int, _frame: FrameType | None) -> None:
    """A child ended: the wake-up of the selector is all that is wanted."""


def _tell_ends(lines: dict[int, socket.socket]) -> None:
    while True:
        try:
            pid, status = os.waitpid(-1, os.WNOHANG)
        except ChildProcessError:
            return
        if pid == 0:
            return
        with lines.pop(pid) as line:
            try:
                line.sendall(str(os.waitstatus_to_exitcode(status)).encode())
            except OSError:
                continue  # the test that asked is gone


def _print(child: ModuleType, asked: dict[str, Any]) -> None:
    """In the fork: what `python -m press.child` does, and the end of the process."""
    status = 1
    try:
        os.setpgid(0, 0)
        out = os.open(asked["said"], os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        nothing = os.open(os.devnull, os.O_RDONLY)
        os.dup2(nothing, 0)
        os.dup2(out, 1)
        os.dup2(out, 2)
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)
        os.environ.clear()
        os.environ.update(asked["environment"])
        folder, *limits = asked["arguments"]
        child.limit(*map(int, limits))
        status = child.print_folder(Path(folder))
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)


if __name__ == "__main__":
    serve(sys.argv[1])
