"""Whatever is left out of a complete sheet, what remains of PAR and ICON is a floor of the whole."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from portfolio.readings import check
from scoring import registry
from tests.scoring.sheets import Case, cases

NEEDED = {
    "par": (
        "contact_offset gap gap_plan buccal_interdigitation crossbite posterior_open_bite overjet overbite "
        "overbite_cover midline_share midline_offset tooth_width"
    ).split(),
    "icon": (
        "aesthetic_component crowding impacted crossbite overjet overbite overbite_cover buccal_interdigitation"
    ).split(),
}
"""Quantities that must be recorded; the others say which teeth are read."""
WHOLE = [(key, case) for key in NEEDED for case in cases(key) if case.complete]


@given(st.sampled_from(WHOLE), st.data())
def test_a_sheet_with_findings_left_out_scores_no_more_than_the_whole(
    named: tuple[str, Case], data: st.DataObject
) -> None:
    key, case = named
    takes_out = [f for f in case.sheet.findings if f.quantity in NEEDED[key]]
    gone = data.draw(st.lists(st.sampled_from(takes_out), min_size=1, max_size=6))
    part = replace(case.sheet, findings=tuple(f for f in case.sheet.findings if f not in gone))
    if any(check(part)):
        # the rest contradicts itself without what was left out, such as a bare `rest_none` of overjet
        return
    score = registry.score(key, part, case.edition, case.choices)
    assert score.total is not None
    assert case.total is not None
    assert score.total <= case.total
    assert {m.category for m in score.missing} <= set(registry.index(key).categories)
    assert score.complete is not bool(score.missing)
