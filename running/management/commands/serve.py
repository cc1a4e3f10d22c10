"""manage.py serve: prepare database, data folder and static files, print where to go, and hand over to gunicorn."""

import errno
import ipaddress
import os
import socket
import sys
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management import call_command, get_commands
from django.core.management.base import BaseCommand, CommandError
from django.db import OperationalError
from django.utils import timezone

from accounts import services
from config.security import KEY_FILE, make_secret_key
from filing import restoring
from running import data_folder, keeper

FIRST_PORT = 8000
PORTS_TRIED = 100
THIS_MACHINE = "127.0.0.1"


class Command(BaseCommand):
    help = (
        "Serve, after preparing database, data folder and static files; --demo fills in the invented clinic."
    )
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--demo", action="store_true", help="the invented clinic, with a random password")
        parser.add_argument(
            "--port",
            type=int,
            default=FIRST_PORT,
            help=f"first port to try (default {FIRST_PORT}); a taken one is passed over, unless others rely on it",
        )
        parser.add_argument(
            "--listen",
            default=THIS_MACHINE,
            help=f"address of this machine to answer at (default {THIS_MACHINE}: only what runs on it can ask); "
            "0.0.0.0 for a proxy on another machine or a container",
        )
        parser.add_argument(
            "--without-worker",
            action="store_true",
            help="background work is done by `manage.py work` elsewhere",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            # A proxy asks at the port it was told, and at no other.
            tried = 1 if settings.REACH.https or options["listen"] != THIS_MACHINE else PORTS_TRIED
            listener = listen(options["port"], options["listen"], tried)
            with data_folder.one_at_a_time(settings.DATA_DIR):
                words = self.prepare(options["demo"])
        except KeyboardInterrupt:
            raise SystemExit(130) from None
        except data_folder.NotTheDemo as refused:
            raise CommandError(str(refused)) from None
        except OperationalError as fault:
            told = str(fault).strip().partition("\n")[0]
            raise CommandError(f"The database does not answer, so nothing is served: {told}") from None
        if not options["without_worker"]:
            keeper.start()
        hand_over(listener, words)

    def prepare(self, demo: bool) -> list[str]:
        """Make the data folder ready; the lines to be printed beside the address."""
        data = settings.DATA_DIR
        if restoring.unfinished_restore(data):
            raise CommandError(restoring.UNFINISHED_WORDS.format(data=data))
        if demo:
            data_folder.refuse_foreign_accounts(data)
        if not (data / KEY_FILE).exists():
            make_secret_key(data)
            # This process has settled on a passing key: begin again with the one just written.
            os.execv(sys.executable, [sys.executable, *sys.orig_argv[1:]])
        if demo:
            password = data_folder.demo_password(data)
        data_folder.migrate()
        data_folder.collect_static(settings.STATIC_ROOT)
        if demo and "demo" in get_commands():
            call_command("demo", password=password, stdout=self.stdout)
            return [f"Password of everybody in the demo: {password}"]
        code = services.setup_code(timezone.now())
        return [f"Set-up code for the first person: {code}"] if code else []


def listen(first: int, address: str = THIS_MACHINE, tried: int = PORTS_TRIED) -> socket.socket:
    """A listening socket of this address on the first free port from `first` on; refuses after so many `tried`."""
    if not 1 <= first <= 65535:
        raise CommandError(f"--port is {first}; allowed: 1 to 65535.")
    try:
        family = socket.AF_INET if ipaddress.ip_address(address).version == 4 else socket.AF_INET6
    except ValueError:
        raise CommandError(
            f"--listen is {address!r}; allowed: an address of this machine, or 0.0.0.0."
        ) from None
    for port in range(first, min(first + tried, 65536)):
        listener = socket.socket(family, socket.SOCK_STREAM)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((address, port))
            listener.listen(128)
        except PermissionError:
            listener.close()
            raise CommandError(f"--port is {port}; this user may take ports from 1024 on only.") from None
        except OSError as fault:
            listener.close()
            if fault.errno == errno.EADDRNOTAVAIL:
                raise CommandError(f"--listen is {address}; this machine has no such address.") from None
            continue
        return listener
    where = f"Port {first} is taken" if tried == 1 else f"No free port from {first} to {port}"
    raise CommandError(f"{where}. Name another with --port.")


def where(listener: socket.socket) -> str:
    """The address that the starting person can open: by name through the proxy, else on this machine."""
    if settings.REACH.https:
        return f"https://{settings.REACH.names[0]}/"
    address, port = listener.getsockname()[:2]
    if ipaddress.ip_address(address).is_unspecified:
        address = THIS_MACHINE
    return f"http://{f'[{address}]' if ':' in address else address}:{port}/"


def hand_over(listener: socket.socket, words: list[str]) -> None:
    """Become gunicorn, so that Ctrl-C and TERM reach it; it prints the lines once it answers."""
    lines = [*words, f"Foliowright answers at {where(listener)} (Ctrl-C stops it)."]
    os.environ["FOLIOWRIGHT_READY"] = "\n".join(lines)
    listener.set_inheritable(True)
    command = [sys.executable, "-m", "gunicorn", "--config", "python:running.gunicorn_settings"]
    os.chdir(settings.BASE_DIR)
    sys.stdout.flush()
    os.execv(sys.executable, [*command, "--bind", f"fd://{listener.fileno()}", "config.wsgi:application"])
