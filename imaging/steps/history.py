"""Which change may be undone, and which done again.  Pure."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Steps:
    """Numbers of the change to undo and of the one to do again; 0 where there is none."""

    undo: int
    redo: int


def steps_of(revisions: Iterable[tuple[int, str, int | None]]) -> Steps:
    """From the revisions in order, each as number, action (change, undo, redo) and the change it is about.

    A new change makes what was undone before it a matter of history alone.
    """
    done: list[int] = []
    undone: list[int] = []
    for number, action, about in revisions:
        if action == "undo":
            undone.append(done.pop())
        elif action == "redo":
            done.append(undone.pop())
        else:
            done.append(number)
            undone.clear()
        assert about is None or about in (*done[-1:], *undone[-1:]), "steps are taken from the end only"
    return Steps(done[-1] if done else 0, undone[-1] if undone else 0)
