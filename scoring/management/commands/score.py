"""`manage.py score`: scores sheet files; needs no database."""

import argparse
import json
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from portfolio.finding_sheet import Sheet, SheetRefused
from portfolio.readings import read_csv, read_json
from scoring import registry
from scoring.index import ChoiceRefused, Index
from scoring.result import Score
from scoring.score_print import score_lines
from scoring.spread_print import spread_dict, spread_lines

MOST_BYTES = 5_000_000
Spread = tuple[Index, Sheet, str | None, dict[str, str] | None]
"""What the spread of a score is worked out from."""


class Command(BaseCommand):
    help = "Score sheet files (JSON or CSV) by the published indices. Exit 2 when any sheet is refused."
    requires_system_checks = ()

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> Any:
        parser = super().create_parser(prog_name, subcommand, **kwargs)
        parser.formatter_class = argparse.RawDescriptionHelpFormatter
        return parser

    def add_arguments(self, parser: Any) -> None:
        parser.add_argument("sheets", nargs="+", metavar="SHEET", help="sheet file, .json or .csv")
        parser.add_argument(
            "--index", action="append", default=[], metavar="KEY", help="index to score; may be repeated"
        )
        parser.add_argument(
            "--edition", action="append", default=[], metavar="INDEX=ID", help="edition of an index"
        )
        parser.add_argument(
            "--choice", action="append", default=[], metavar="INDEX.ID=VALUE", help="rule choice of an index"
        )
        parser.add_argument(
            "--spread",
            action="store_true",
            help="exact chances of the true total, from the deviations of the findings",
        )
        parser.add_argument("--json", action="store_true", help="JSON Lines, one object per sheet and index")

    def handle(self, *args: Any, **options: Any) -> None:
        faults: list[str] = []
        keys = [key for key in options["index"] if not _note(faults, "--index", _index_fault(key))]
        editions = dict(_editions(options["edition"], faults))
        choices = _choices(options["choice"], faults)
        sheets = [(name, sheet) for name in options["sheets"] if (sheet := _read(name, faults)) is not None]
        if faults:
            for fault in faults:
                self.stderr.write(fault)
            sys.exit(2)
        for name, sheet in sheets:
            wanted = keys or list(registry.meant_for(sheet))
            if not wanted and not options["json"]:
                self.stdout.write(
                    f"{name}: no index that is built has a meaning for this stage and dentition"
                )
            for key in dict.fromkeys(wanted):
                score = registry.score(key, sheet, editions.get(key), choices.get(key))
                terms = (registry.index(key), sheet, editions.get(key), choices.get(key))
                self._write(name, score, options["json"], terms if options["spread"] else None)

    def _write(self, name: str, score: Score, as_json: bool, spread: Spread | None) -> None:
        # a file name need not be text; what is printed must be
        shown = os.fsencode(Path(name).name).decode("utf-8", "replace")
        if as_json:
            told = score.as_dict(shown) | (spread_dict(*spread) if spread else {})
            self.stdout.write(json.dumps(told, ensure_ascii=False))
        else:
            lines = [*score_lines(shown, score), *(spread_lines(*spread) if spread else ())]
            self.stdout.write("\n".join(lines))


def _note(faults: list[str], where: str, message: str) -> bool:
    if message:
        faults.append(f"{where}: {message}")
    return bool(message)


def _index_fault(key: str) -> str:
    try:
        registry.index(key)
    except registry.IndexRefused as refused:
        return str(refused)
    return ""


def _editions(texts: list[str], faults: list[str]) -> Iterator[tuple[str, str]]:
    for text in texts:
        key, equals, edition = text.partition("=")
        if not equals:
            faults.append(f"--edition {text}: write INDEX=ID, such as discrepancy=worksheet")
        elif not _note(faults, f"--edition {text}", _index_fault(key)):
            try:
                yield key, registry.index(key).edition(edition)
            except ChoiceRefused as refused:
                faults.append(f"--edition {text}: {refused}")


def _choices(texts: list[str], faults: list[str]) -> dict[str, dict[str, str]]:
    found: dict[str, dict[str, str]] = {}
    for text in texts:
        name, equals, value = text.partition("=")
        key, dot, choice_id = name.partition(".")
        if not equals or not dot:
            faults.append(f"--choice {text}: write INDEX.ID=VALUE, such as discrepancy.crowding_1=1")
        elif not _note(faults, f"--choice {text}", _index_fault(key)):
            try:
                registry.index(key).settled({choice_id: value})
            except ChoiceRefused as refused:
                faults.append(f"--choice {text}: {refused}")
                continue
            if found.setdefault(key, {}).setdefault(choice_id, value) != value:
                faults.append(f"--choice {text}: {key}.{choice_id} is given twice with different values")
    return found


def _read(name: str, faults: list[str]) -> Sheet | None:
    path = Path(name)
    try:
        if path.stat().st_size > MOST_BYTES:
            faults.append(f"{name}: is larger than {MOST_BYTES} bytes and is not a sheet")
            return None
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        faults.append(f"{name}: cannot be read: {error.strerror or error}")
        return None
    except UnicodeDecodeError as error:
        faults.append(f"{name}: is not UTF-8 text (byte {error.start})")
        return None
    try:
        return read_csv(text) if path.suffix.lower() == ".csv" else read_json(text)
    except SheetRefused as refused:
        faults += [f"{name}: {' '.join(str(fault).split())}" for fault in refused.faults]
        return None
