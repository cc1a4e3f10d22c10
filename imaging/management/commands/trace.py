"""`manage.py trace`: measures a tracing file and lays it on a first one; needs no database."""

import json
import os
import sys
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from imaging.cephalometry.face import Face
from imaging.cephalometry.measuring import changes, measure_face
from imaging.cephalometry.reading import MOST_BYTES, TracingRefused, read_tracing
from imaging.cephalometry.superimpose import ON, CannotLay, Superimposition, superimpose
from imaging.cephalometry.trace_print import as_dict, change_lines, measure_lines, over_lines


class Command(BaseCommand):
    help = "Measure a tracing file (JSON landmarks). Exit 2 when a file is refused."
    requires_system_checks = ()

    def add_arguments(self, parser: Any) -> None:
        parser.add_argument("landmarks", metavar="LANDMARKS", help="tracing file, .json")
        parser.add_argument("--over", metavar="FIRST", help="first tracing, on which LANDMARKS is laid")
        parser.add_argument("--on", choices=ON, help="what is laid on what: S-N at S, or stable structures")
        parser.add_argument("--json", action="store_true", help="one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        faults: list[str] = []
        if bool(options["over"]) != bool(options["on"]):
            faults.append(
                f"--over and --on go together: name the first tracing and what it is laid on ({', '.join(ON)})"
            )
        face = _read(options["landmarks"], faults)
        first = _read(options["over"], faults) if options["over"] else None
        over: Superimposition | None = None
        if not faults and face and first:
            try:
                over = superimpose(first, face, options["on"])
            except CannotLay as refused:
                faults.append(f"{_shown(options['landmarks'])} over {_shown(options['over'])}: {refused}")
        if faults or face is None:
            for fault in faults:
                self.stderr.write(fault)
            sys.exit(2)
        if options["json"]:
            self.stdout.write(json.dumps(as_dict(*measure_face(face), over), ensure_ascii=False))
        else:
            self.stdout.write("\n".join(_lines(face, first, over)))


def _lines(face: Face, first: Face | None, over: Superimposition | None) -> list[str]:
    told, refused = measure_face(face)
    lines = [hint] if (hint := face.scale_hint()) else []
    lines += measure_lines(told, refused)
    if first is not None and over is not None:
        lines += ["", "changes, second minus first", *change_lines(changes(measure_face(first)[0], told))]
        lines += ["", f"moved, laid on {over.on}", *over_lines(over)]
    return lines


def _shown(name: str) -> str:
    # a file name need not be text; what is printed must be one line of it
    text = os.fsencode(name).decode("utf-8", "replace")
    return "".join(sign if sign.isprintable() else "\N{REPLACEMENT CHARACTER}" for sign in text)


def _read(name: str, faults: list[str]) -> Face | None:
    shown = _shown(name)
    try:
        with Path(name).open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        faults.append(f"{shown}: cannot be read: {getattr(error, 'strerror', None) or error}")
        return None
    if len(data) > MOST_BYTES:
        faults.append(f"{shown}: is larger than {MOST_BYTES} bytes and is not a tracing")
        return None
    try:
        return read_tracing(data.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        faults.append(f"{shown}: is not UTF-8 text (byte {error.start})")
    except TracingRefused as refused:
        faults += [f"{shown}: {fault}" for fault in refused.faults]
    return None
