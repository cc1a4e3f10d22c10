"""The services of docker-compose.yml and the image they run: who they are, what they keep, what nobody may see."""

from __future__ import annotations

import re
import subprocess
from typing import Any

import pytest

from tests.architecture.source_tree import PROJECT, existing_rooms
from tests.running.compose_file import compose_file, let_into_the_image

SERVICES: dict[str, Any] = compose_file()["services"]
every_service = pytest.mark.parametrize("name", SERVICES)
IMAGE_FILE = (PROJECT / "Dockerfile").read_text(encoding="utf-8")


def test_web_worker_and_database_are_served_and_nothing_else() -> None:
    assert set(SERVICES) == {"web", "worker", "database"}


@every_service
def test_a_service_is_looked_after_and_has_no_rights(name: str) -> None:
    service = SERVICES[name]
    assert service["healthcheck"]["test"][0] == "CMD"
    assert {"interval", "timeout", "retries", "start_period"} <= set(service["healthcheck"])
    assert service["restart"] == "unless-stopped"
    assert service["cap_drop"] == ["ALL"]
    assert service["security_opt"] == ["no-new-privileges:true"]
    assert "privileged" not in service
    user = str(service.get("user", "")) or re.findall(r"^USER (\S+)$", IMAGE_FILE, re.M)[-1]
    assert user not in ("", "0", "root")
    assert "user" in service or service["image"] == "foliowright"


def test_the_app_writes_to_its_volume_only() -> None:
    for name in ("web", "worker"):
        assert SERVICES[name]["read_only"] is True
        assert SERVICES[name]["volumes"] == ["data:/data"]
        assert SERVICES[name]["environment"]["FOLIOWRIGHT_DATA"] == "/data"


def test_web_and_worker_are_one_installation() -> None:
    assert SERVICES["web"]["environment"] == SERVICES["worker"]["environment"]
    assert SERVICES["web"]["image"] == SERVICES["worker"]["image"]


def test_the_worker_waits_for_web_which_prepares_and_web_for_the_database() -> None:
    assert SERVICES["web"]["depends_on"] == {"database": {"condition": "service_healthy"}}
    assert SERVICES["worker"]["depends_on"] == {"web": {"condition": "service_healthy"}}


@pytest.mark.parametrize("kind", ["volumes", "secrets"])
def test_what_a_service_names_is_declared_and_nothing_else_is(kind: str) -> None:
    used = {str(entry).split(":")[0] for service in SERVICES.values() for entry in service.get(kind, [])}
    assert used == set(compose_file()[kind])
    assert not any(name.startswith((".", "/")) for name in used), (
        "a folder of the machine, not a named volume"
    )


def test_no_port_leaves_this_machine_and_the_database_has_none() -> None:
    assert [name for name in SERVICES if "ports" in SERVICES[name]] == ["web"]
    assert all(port.startswith("127.0.0.1:") for port in SERVICES["web"]["ports"])
    chosen = compose_file({"FOLIOWRIGHT_PORT": "8444"})["services"]["web"]["ports"]
    assert chosen == ["127.0.0.1:8444:8000"]


def test_secrets_are_files_that_no_repository_and_no_image_holds() -> None:
    for name, secret in compose_file()["secrets"].items():
        assert set(secret) == {"file"}
        ignored = subprocess.run(["git", "check-ignore", "-q", "--no-index", secret["file"]], cwd=PROJECT)
        assert ignored.returncode == 0, f"{name}: {secret['file']} could be committed"
    for service in SERVICES.values():
        for name, value in service["environment"].items():
            if "PASSWORD" in name or "KEY" in name:
                assert name.endswith("_FILE")
                assert value.removeprefix("/run/secrets/") in service["secrets"]
    assert ":" not in re.sub(
        r"^postgresql://|@.*$", "", SERVICES["web"]["environment"]["FOLIOWRIGHT_DATABASE"]
    )


def test_the_programs_for_backups_are_as_new_as_the_database() -> None:
    served = int(SERVICES["database"]["image"].removeprefix("postgres:"))
    assert int(re.findall(r"postgresql-client-(\d+)", IMAGE_FILE)[0]) >= served


def test_base_images_go_by_their_public_names() -> None:
    names = [*re.findall(r"^FROM (\S+)$", IMAGE_FILE, re.M), SERVICES["database"]["image"]]
    assert names
    assert all(re.fullmatch(r"[a-z]+:[a-z0-9.-]+", name) for name in names)


def test_the_image_gets_its_packages_by_the_script_which_installs_what_the_locks_name() -> None:
    assert "RUN mkdir static && UV_COMPILE_BYTECODE=1 ./foliowright fetch" in IMAGE_FILE
    assert "pip install" not in IMAGE_FILE
    script = (PROJECT / "foliowright").read_text(encoding="utf-8")
    fetch = script.partition("\nfetch)")[2].partition(";;")[0]
    assert fetch.split() == [
        *("environment", "requirements.lock"),
        "printing",
        *(".venv/bin/python", "-m", "running.front_end"),
    ]
    assert script.count("--require-hashes") == 2
    copied = set(re.findall(r"^COPY (.*) \S+$", IMAGE_FILE, re.M)[0].split())
    assert copied == {
        "foliowright",
        *("requirements.lock", "requirements-uv.lock", "requirements-node.lock"),
        *("package.json", "package-lock.json", ".npmrc"),
    }


def test_every_room_is_in_the_image_and_tests_and_data_are_not() -> None:
    let_in = let_into_the_image()
    assert let_in >= set(existing_rooms())
    assert let_in >= {"static", "templates", "manage.py", "foliowright"}
    assert not let_in & {"tests", "var", ".git", ".venv", "bench", "docs"}
