"""As many slots filled as possible, and the slots that compete for too few patients.  Pure.

A matching is as large as possible when no augmenting path is left (Berge 1957, from memory). Where a slot stays empty,
Hall's condition (Hall 1935, On representatives of subsets, from memory) fails for a set of slots around it: they are
served by fewer patients than they are many. For the tens of slots of a plan searching one path after the other is
quicker than the phases of Hopcroft and Karp (1973).
"""

from collections.abc import Sequence
from typing import NamedTuple

Neighbours = Sequence[Sequence[int]]
"""For each slot the patients that can serve it."""


class Matching(NamedTuple):
    """`patient[slot]`, None where the slot stays empty, and `slot[patient]`."""

    patient: list[int | None]
    slot: dict[int, int]

    @property
    def filled(self) -> int:
        return len(self.slot)


def largest(neighbours: Neighbours) -> Matching:
    """A matching that fills as many slots as can be filled."""
    found = Matching([None] * len(neighbours), {})
    for slot in range(len(neighbours)):
        _augment(neighbours, found, slot)
    return found


def _augment(neighbours: Neighbours, found: Matching, start: int) -> bool:
    """Fill one more slot by a path of exchanges that begins at `start`, if there is one."""
    came: dict[int, int] = {}
    queue = [start]
    for slot in queue:
        for patient in neighbours[slot]:
            if patient in came:
                continue
            came[patient] = slot
            if patient not in found.slot:
                _exchange(found, came, patient, start)
                return True
            queue.append(found.slot[patient])
    return False


def _exchange(found: Matching, came: dict[int, int], patient: int, start: int) -> None:
    last: int | None = patient
    while last is not None:
        slot = came[last]
        before = found.patient[slot]
        found.patient[slot], found.slot[last] = last, slot
        last = None if slot == start else before


def competing(neighbours: Neighbours, found: Matching, empty: int) -> tuple[list[int], list[int]]:
    """The slots that compete round an empty one, and all patients that could serve any of them: one fewer.

    `found` is a largest matching. The slots are those reached by going to eligible patients and on to the slots that
    hold them. No slot can be left out: without `empty` the others are served by what they hold; and in a part with
    `empty`, some patient of it is held by a slot outside, so the part has as many patients as slots.
    """
    slots, patients = [empty], []
    seen: set[int] = set()
    for slot in slots:
        for patient in neighbours[slot]:
            if patient not in seen:
                seen.add(patient)
                patients.append(patient)
                slots.append(found.slot[patient])
    return sorted(slots), sorted(patients)
