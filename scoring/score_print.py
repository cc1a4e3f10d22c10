"""A score as plain text lines for a terminal."""

from collections.abc import Iterator, Mapping, Sequence

from scoring.result import Json, Line, OtherTotal, Score
from scoring.shapes import Step, plain


def total_words(score: Score) -> str:
    """`35`, or `at least 12` where something is missing."""
    if score.total is None:
        return "no total"
    return plain(score.total) if score.complete else f"at least {plain(score.total)}"


def score_lines(name: str, score: Score) -> Iterator[str]:
    """The whole score, a row a line."""
    yield f"{name}: {score.index} ({score.edition}): {total_words(score)}"
    if score.outside:
        yield f"  outside: {score.outside}"
    for category, points in score.categories.items():
        yield f"  {category}: {'not recorded' if points is None else plain(points)}"
        for line in score.lines:
            if line.category == category:
                yield f"    {_line_words(line)}"
    for line in score.lines:
        if line.category not in score.categories:
            yield f"  {line.category}: {_line_words(line)}"
    for name, value in score.extra.items():
        yield f"  {name}: {_extra_words(value)}"
    for verdict in score.verdicts:
        yield f"  {verdict.key}: {verdict.says} [{verdict.source}]"
    for missing in score.missing:
        taken = f" (taken to {missing.plane})" if missing.plane else ""
        taken += f" (without {missing.lacks})" if missing.lacks else ""
        yield f"  missing: {missing.quantity} at {', '.join(missing.sites)} for {missing.category}{taken}"
    for convention in score.conventions:
        yield f"  convention: {convention.quantity} {convention.site}: {convention.taken_as}"
    for other in score.other_totals:
        yield f"  with {other.choice}: {_other_words(other)}"


def _extra_words(value: Json) -> str:
    """`overall_excess: arch lower, mm 0.63`; nothing there is `none`."""
    if value is None:
        return "none"
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {_extra_words(inner)}" for key, inner in value.items())
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "; ".join(_extra_words(inner) for inner in value) or "none"
    return str(value)


def _other_words(other: OtherTotal) -> str:
    if other.instead is not None:
        return "; ".join(f"{key} {_extra_words(value)}" for key, value in other.instead.items())
    return "no total" if other.total is None else plain(other.total)


def _line_words(line: Line) -> str:
    read = ", ".join(f"{f.quantity} {f.site} {f.value}" for f in line.findings)
    parts = [f"{read}: {line.rule} -> {plain(line.points)}"]
    if line.beaten_by:
        parts.append(f"beaten by {line.beaten_by}")
    parts += [
        f"{word} {_step_words(step)}"
        for word, step in (("next", line.next_step), ("before", line.previous_step))
        if step
    ]
    parts.append(f"[{line.source}; {line.certainty}]")
    return "; ".join(parts)


def _step_words(step: Step) -> str:
    return f"at {step.at}: {plain(step.points)} (distance {step.distance})"
