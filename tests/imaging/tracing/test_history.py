"""Undo and redo of a tracing follow the rule everybody knows, whatever the order of steps."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from imaging.steps.history import Steps, steps_of


@given(st.lists(st.sampled_from(["change", "undo", "redo"]), max_size=40))
def test_undo_and_redo_are_two_stacks_and_a_change_empties_the_second(wishes: list[str]) -> None:
    done: list[int] = []
    undone: list[int] = []
    revisions: list[tuple[int, str, int | None]] = []
    for wish in wishes:
        number = len(revisions) + 1
        steps = steps_of(revisions)
        assert steps == Steps(done[-1] if done else 0, undone[-1] if undone else 0)
        if wish == "undo" and steps.undo:
            revisions.append((number, wish, steps.undo))
            undone.append(done.pop())
        elif wish == "redo" and steps.redo:
            revisions.append((number, wish, steps.redo))
            done.append(undone.pop())
        elif wish == "change":
            revisions.append((number, wish, None))
            done.append(number)
            undone.clear()
    assert steps_of(revisions) == Steps(done[-1] if done else 0, undone[-1] if undone else 0)


def test_nothing_done_is_nothing_to_undo() -> None:
    assert steps_of([]) == Steps(0, 0)
