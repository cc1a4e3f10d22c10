"""The parts of a plan file, read one by one; what is wrong is gathered with its path.  Pure."""

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

from plans.document import GroupRule, RecordRule, Slot, Window, WindowLimit
from plans.moments import MOMENTS
from plans.record_names import RECORDS
from plans.requirements import Requirement, read_at
from plans.requirements.between import in_age_group
from plans.requirements.words import STAGE_WORDS
from portfolio.ages import OLDEST_MONTHS
from portfolio.finding_sheet import Fault
from portfolio.quantity import unprintable

MOST = {"slots": 40, "groups": 20, "windows": 20, "records": 20, "limits": 6}
MOST_NAME = 120
MOST_NOTE = 2000
MOST_WINDOW_MONTHS = 600
KEY = re.compile(r"[a-z0-9][a-z0-9_-]{0,39}\Z", re.ASCII)

SLOT_KEYS = ("key", "label", "condition", "records", "note")
GROUP_KEYS = ("key", "label", "condition", "at_least", "at_most")
WINDOW_KEYS = ("key", "label", "start", "end", "age_at", "limits")
LIMIT_KEYS = ("at_least_months", "at_most_months", "age_from", "age_under")
RECORD_KEYS = ("stage", "records", "when")
Made = TypeVar("Made")


class PlanRefused(ValueError):
    """A plan was not taken; carries every fault found, each with the path where it stands."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(str(fault) for fault in self.faults))


@dataclass
class PartReader:
    """Values taken one by one; what is wrong is gathered with its path, and something harmless given instead."""

    faults: list[Fault] = field(default_factory=list)

    def fault(self, path: str, message: str) -> None:
        self.faults.append(Fault(path, message))

    def known(self, data: Any, path: str, keys: Sequence[str]) -> Mapping[str, Any]:
        """An object with no other keys than these; an empty one where it is none."""
        if not isinstance(data, dict):
            self.fault(path or "file", f"is not an object with {', '.join(keys)}")
            return {}
        for key in data:
            if key not in keys:
                self.fault(_under(path, key[:40]), f"is not a key here; allowed: {', '.join(keys)}")
        return data

    def text(
        self,
        data: Mapping[str, Any],
        path: str,
        key: str,
        most: int,
        *,
        required: bool = False,
        lines: str = "",
    ) -> str:
        """One line of text, or several where `lines` names the line ends that are taken."""
        value, here = data.get(key, ""), _under(path, key)
        if value is None or (isinstance(value, str) and not value.strip()):
            if required:
                self.fault(here, "is required and not there")
        elif not isinstance(value, str) or unprintable(value, lines):
            self.fault(here, "is not plain text" + ("" if lines else " in one line"))
        elif len(value) > most:
            self.fault(here, f"has {len(value)} characters; at most {most} are taken")
        else:
            return value.strip()
        return ""

    def one_of(
        self, data: Mapping[str, Any], path: str, key: str, allowed: Iterable[str], default: str | None = None
    ) -> str:
        value, here = data.get(key, default), _under(path, key)
        options = tuple(allowed)
        if value is None:
            self.fault(here, f"is required; allowed: {', '.join(options)}")
        elif not isinstance(value, str) or value not in options:
            self.fault(here, f"{_quoted(value)} is not allowed; allowed: {', '.join(options)}")
        else:
            return value
        return options[0]

    def several_of(
        self,
        data: Mapping[str, Any],
        path: str,
        key: str,
        allowed: Iterable[str],
        default: Sequence[str] = (),
    ) -> tuple[str, ...]:
        """Some of the options without doubles, in the order in which they are given."""
        value, here = data.get(key, list(default)), _under(path, key)
        options = tuple(allowed)
        if not isinstance(value, list) or not value:
            self.fault(here, f"is not a list with at least one of: {', '.join(options)}")
            return ()
        for number, one in enumerate(value):
            if not isinstance(one, str) or one not in options:
                self.fault(
                    f"{here}[{number}]", f"{_quoted(one)} is not allowed; allowed: {', '.join(options)}"
                )
                return ()
        if len(set(value)) != len(value):
            self.fault(here, "names something twice")
        return tuple(value)

    def whole(self, data: Mapping[str, Any], path: str, key: str, least: int, most: int) -> int | None:
        value, here = data.get(key), _under(path, key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            self.fault(here, f"is not a whole number from {least} to {most}")
            return None
        return value

    def each(
        self, data: Mapping[str, Any], path: str, key: str, make: Callable[[Any, str], Made]
    ) -> tuple[Made, ...]:
        """Every entry of a list, made by its path."""
        value, here = data.get(key), _under(path, key)
        if value is None:
            return ()
        if not isinstance(value, list):
            self.fault(here, "is not a list")
            return ()
        if len(value) > MOST[key]:
            self.fault(here, f"has {len(value)} entries; at most {MOST[key]} are taken")
            return ()
        return tuple(make(one, f"{here}[{number}]") for number, one in enumerate(value))

    def condition(
        self, data: Mapping[str, Any], path: str, key: str, *, required: bool
    ) -> Requirement | None:
        if data.get(key) is None:
            if required:
                self.fault(_under(path, key), "is required and not there")
            return None
        return read_at(data[key], _under(path, key), self.faults)

    def key(self, data: Mapping[str, Any], path: str) -> str:
        value = self.text(data, path, "key", 40, required=True)
        if value and not KEY.match(value):
            self.fault(_under(path, "key"), "takes small letters, digits, _ and - only, at most 40")
        return value

    def once(self, path: str, keys: Iterable[str]) -> None:
        for key, times in Counter(keys).items():
            if key and times > 1:
                self.fault(path, f"key {key} stands {times} times; each is taken once")

    def slot(self, entry: Any, path: str) -> Slot:
        data = self.known(entry, path, SLOT_KEYS)
        return Slot(
            self.key(data, path),
            self.text(data, path, "label", MOST_NAME, required=True),
            self.condition(data, path, "condition", required=False),
            self.each(data, path, "records", self.record_rule),
            self.text(data, path, "note", MOST_NOTE, lines="\n\r"),
        )

    def record_rule(self, entry: Any, path: str) -> RecordRule:
        data = self.known(entry, path, RECORD_KEYS)
        return RecordRule(
            self.one_of(data, path, "stage", STAGE_WORDS),
            _in_order(self.several_of(data, path, "records", RECORDS)),
            self.condition(data, path, "when", required=False),
        )

    def group(self, entry: Any, path: str) -> GroupRule | None:
        data = self.known(entry, path, GROUP_KEYS)
        key = self.key(data, path)
        label = self.text(data, path, "label", MOST_NAME)
        condition = self.condition(data, path, "condition", required=True)
        least = self.whole(data, path, "at_least", 0, MOST["slots"])
        most = self.whole(data, path, "at_most", 0, MOST["slots"])
        if data.get("at_least") is None and data.get("at_most") is None:
            self.fault(_under(path, "at_least"), "a least or a most is required")
        if least is not None and most is not None and least > most:
            self.fault(_under(path, "at_least"), f"{least} is more than the most of {most}")
        return None if condition is None else GroupRule(key, label, condition, least, most)

    def window(self, entry: Any, path: str) -> Window:
        data = self.known(entry, path, WINDOW_KEYS)
        start = self.one_of(data, path, "start", MOMENTS)
        end = self.one_of(data, path, "end", MOMENTS)
        if start == end and start == data.get("start") == data.get("end"):
            self.fault(_under(path, "end"), "is the same moment as the start")
        limits = self.each(data, path, "limits", self.limit)
        if not limits and (data.get("limits") is None or data.get("limits") == []):
            self.fault(_under(path, "limits"), "is required: at least one, with a least or a most of months")
        for number in _never_reached(limits):
            self.fault(f"{_under(path, 'limits')}[{number}]", "holds for no age that those before it leave")
        return Window(
            self.key(data, path),
            self.text(data, path, "label", MOST_NAME, required=True),
            start,
            end,
            limits,
            self.one_of(data, path, "age_at", STAGE_WORDS, "initial"),
        )

    def limit(self, entry: Any, path: str) -> WindowLimit:
        data = self.known(entry, path, LIMIT_KEYS)
        least = self.whole(data, path, "at_least_months", 0, MOST_WINDOW_MONTHS)
        most = self.whole(data, path, "at_most_months", 0, MOST_WINDOW_MONTHS)
        age_from = self.whole(data, path, "age_from", 0, OLDEST_MONTHS)
        age_under = self.whole(data, path, "age_under", 0, OLDEST_MONTHS)
        if data.get("at_least_months") is None and data.get("at_most_months") is None:
            self.fault(_under(path, "at_most_months"), "a least or a most of months is required")
        if least is not None and most is not None and least > most:
            self.fault(_under(path, "at_least_months"), f"{least} is more than the most of {most}")
        if age_from is not None and age_under is not None and age_from >= age_under:
            self.fault(_under(path, "age_from"), f"no age is {age_from} months or more and under {age_under}")
        return WindowLimit(least, most, age_from, age_under)


def _never_reached(limits: Sequence[WindowLimit]) -> list[int]:
    """Numbers of the limits of which every age is taken by one before; the first that takes an age holds."""
    left = set(range(OLDEST_MONTHS + 1))
    found = []
    for number, limit in enumerate(limits):
        ages = {age for age in left if in_age_group(age, limit.age_from, limit.age_under)}
        if not ages:
            found.append(number)
        left -= ages
    return found


def _in_order(records: Iterable[str]) -> tuple[str, ...]:
    found = set(records)
    return tuple(record for record in RECORDS if record in found)


def _under(path: str, key: str) -> str:
    return f"{path}.{key}" if path else key


def _quoted(value: Any) -> str:
    return f'"{value[:40]}"' if isinstance(value, str) else "this"
