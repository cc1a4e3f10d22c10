"""The script says what it can do, and what is missing where it may not install it."""

import os
import pwd
import shutil
import subprocess
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parents[2]
TOOLS = ("cat", "dirname", "grep", "id", "ls", "mkdir", "rm", "sha256sum", "sh")


def call(*arguments: str, folder: Path = PROJECT, **more: object) -> "subprocess.CompletedProcess[str]":
    done: subprocess.CompletedProcess[str] = subprocess.run(
        [shutil.which("sh") or "/bin/sh", "foliowright", *arguments],
        cwd=folder,
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
        **more,  # type: ignore[call-overload]
    )
    return done


def open_to_everybody(folder: Path) -> None:
    """Lets other users through the folders above, which are the test's own."""
    for path in (folder, *folder.parents):
        if path == Path("/tmp"):
            return
        path.chmod(0o755)


@pytest.fixture
def bare_system(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of programs without Python, sudo and apt-get, to be the whole PATH."""
    folder = tmp_path_factory.mktemp("programs")
    for name in TOOLS:
        (folder / name).symlink_to(shutil.which(name) or f"/bin/{name}")
    open_to_everybody(folder)
    return folder


@pytest.fixture
def clone(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The script alone in a folder with a space and a letter beyond ASCII, open to everybody."""
    folder = tmp_path_factory.mktemp("clone") / "Fälle neu"
    folder.mkdir()
    shutil.copy(PROJECT / "foliowright", folder)
    open_to_everybody(folder)
    folder.chmod(0o777)
    return folder


def without_rights() -> dict[str, object]:
    """Arguments that start a program as somebody who may install nothing."""
    if os.geteuid() != 0:
        return {}
    nobody = pwd.getpwnam("nobody")
    return {"user": nobody.pw_uid, "group": nobody.pw_gid, "extra_groups": []}


def test_help_names_the_commands() -> None:
    done = call("help")
    assert done.returncode == 0
    for command in ("demo", "serve", "test", "bench", "fetch"):
        assert f"./foliowright {command}" in done.stdout


@pytest.mark.parametrize("arguments", [(), ("start",)])
def test_anything_else_is_answered_with_the_commands_and_status_2(arguments: tuple[str, ...]) -> None:
    done = call(*arguments)
    assert done.returncode == 2
    assert "./foliowright demo" in done.stderr


def test_without_rights_the_missing_packages_are_named_and_nothing_is_made(
    bare_system: Path, clone: Path
) -> None:
    done = call("demo", folder=clone, env={"PATH": str(bare_system)}, **without_rights())
    assert done.returncode == 1
    assert "Missing from this system: python3 python3-venv ca-certificates" in done.stderr
    assert "apt-get install --no-install-recommends python3 python3-venv ca-certificates" in done.stderr
    assert [path.name for path in clone.iterdir()] == ["foliowright"]


def test_a_folder_that_cannot_be_written_to_is_named(clone: Path) -> None:
    if os.geteuid() == 0:
        clone.chmod(0o755)  # root's, and somebody else calls
    else:
        clone.chmod(0o555)
    done = call("serve", folder=clone, env={"PATH": "/usr/bin:/bin"}, **without_rights())
    assert done.returncode == 1
    caller = "nobody" if os.geteuid() == 0 else pwd.getpwuid(os.geteuid()).pw_name
    assert f"This folder cannot be written to by {caller}" in done.stderr
    assert "Fälle neu" in done.stderr


def test_a_wrong_port_is_refused_in_one_line(tmp_path: Path) -> None:
    done = call("serve", "--port", "70000", env={**os.environ, "FOLIOWRIGHT_DATA": str(tmp_path / "data")})
    assert done.returncode == 1
    assert done.stderr.strip() == "CommandError: --port is 70000; allowed: 1 to 65535."
    assert not (tmp_path / "data").exists()
