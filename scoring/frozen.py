"""A score as plain JSON values and back, so that a kept one is shown as it was."""

from collections.abc import Mapping
from dataclasses import asdict
from decimal import Decimal
from typing import Any

from portfolio.finding_sheet import Finding
from scoring.hits import Convention, Missing
from scoring.index import Index
from scoring.result import Json, Line, OtherTotal, Score, Verdict
from scoring.shapes import Step

FORMAT = 1


def freeze(score: Score, index: Index) -> dict[str, Any]:
    """Everything a page shows of a score, with the words of its rule choices and rows of the form."""
    return {
        "format": FORMAT,
        "label": index.label,
        "category_labels": index.labels,
        "counted_in": index.counted_in,
        "choices_in_words": [
            {"id": c.id, "label": c.label, "words": dict(c.options)[score.choices[c.id]]}
            for c in index.choices
        ],
        "index": score.index,
        "edition": score.edition,
        "total": _number(score.total),
        "complete": score.complete,
        "missing": [m._asdict() for m in score.missing],
        "categories": [[key, _number(value)] for key, value in score.categories.items()],
        "lines": [_line(line) for line in score.lines],
        "choices": score.choices,
        "other_totals": [[o.choice, _number(o.total), o.instead] for o in score.other_totals],
        "conventions": [c._asdict() for c in score.conventions],
        "verdicts": [v._asdict() for v in score.verdicts],
        "outside": score.outside,
        "extra": dict(score.extra),
    }


def thaw(kept: Mapping[str, Any]) -> Score:
    """The score that was frozen, equal to it in everything."""
    return Score(
        index=kept["index"],
        edition=kept["edition"],
        total=_decimal(kept["total"]),
        complete=kept["complete"],
        missing=tuple(
            Missing(m["quantity"], tuple(m["sites"]), m["category"], m["plane"], m.get("lacks", ""))
            for m in kept["missing"]
        ),
        categories={key: _decimal(value) for key, value in kept["categories"]},
        lines=tuple(_thaw_line(line) for line in kept["lines"]),
        choices=dict(kept["choices"]),
        other_totals=tuple(_thaw_other(*other) for other in kept["other_totals"]),
        conventions=tuple(Convention(**c) for c in kept["conventions"]),
        verdicts=tuple(Verdict(**v) for v in kept["verdicts"]),
        outside=kept["outside"],
        extra=kept.get("extra", {}),
    )


def freeze_findings(findings: tuple[Finding, ...]) -> list[dict[str, Any]]:
    """Findings as plain values."""
    return [asdict(finding) for finding in findings]


def thaw_findings(kept: list[dict[str, Any]]) -> tuple[Finding, ...]:
    """The findings that were frozen."""
    # JSON gives lists where there were pairs; findings kept before errors had parts name none.
    return tuple(
        Finding(
            **finding | {"error_parts": tuple((name, part) for name, part in finding.get("error_parts", ()))}
        )
        for finding in kept
    )


def _thaw_other(choice: str, total: str | None, instead: Mapping[str, Json] | None = None) -> OtherTotal:
    return OtherTotal(choice, _decimal(total), instead)


def _number(value: Decimal | None) -> str | None:
    return None if value is None else str(value)


def _decimal(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)


def _line(line: Line) -> dict[str, Any]:
    return {
        **line._asdict(),
        "findings": freeze_findings(line.findings),
        "raw": str(line.raw),
        "points": str(line.points),
        "next_step": _step(line.next_step),
        "previous_step": _step(line.previous_step),
    }


def _step(step: Step | None) -> dict[str, str] | None:
    return None if step is None else {**step._asdict(), "points": str(step.points)}


def _thaw_line(kept: Mapping[str, Any]) -> Line:
    return Line(
        **{
            **kept,
            "findings": thaw_findings(kept["findings"]),
            "raw": Decimal(kept["raw"]),
            "points": Decimal(kept["points"]),
            "next_step": _thaw_step(kept["next_step"]),
            "previous_step": _thaw_step(kept["previous_step"]),
        }
    )


def _thaw_step(kept: Mapping[str, str] | None) -> Step | None:
    return None if kept is None else Step(**{**kept, "points": Decimal(kept["points"])})  # type: ignore[arg-type]
