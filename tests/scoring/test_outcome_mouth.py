"""Which teeth, contacts and cusps the outcome evaluation takes, what it leaves out, and what it lacks.

Exclusions are from memory or settled by this project; `reading.md` beside the rules says which.
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio import teeth
from portfolio.readings import Finding, Sheet
from scoring import registry
from scoring.index import ChoiceRefused
from scoring.indices.outcome.places import scored_contacts
from scoring.kernel import asks
from tests.scoring.outcome_sheets import CAST_ROWS, INDEX, asked, final, lacking, out, scored
from tests.scoring.sheets import sheet


def test_a_full_mouth_is_scored_from_second_molar_to_second_molar() -> None:
    score = scored([])
    assert score.extra["teeth_scored"] == list(teeth.DEFAULT_PERMANENT)
    assert out(score) == []


def test_what_is_asked_in_a_full_mouth() -> None:
    whole = final([])
    assert len(asked(whole, "alignment_step")) == 28
    assert set(asked(whole, "ridge_step")) == set(
        "17-16 16-15 15-14 24-25 25-26 26-27 47-46 46-45 35-36 36-37".split()
    )
    assert set(asked(whole, "inclination_step")) == set("17 16 15 14 24 25 26 27 47 46 45 35 36 37".split())
    assert set(asked(whole, "occlusal_gap")) == set(
        "17.ml 16.ml 15.l 14.l 24.l 25.l 26.ml 27.ml 47.mb 47.db 46.mb 46.db 45.b 44.b 34.b 35.b "
        "36.mb 36.db 37.mb 37.db".split()
    )
    assert set(asked(whole, "relation_step")) == set("17 16 15 14 13 23 24 25 26 27".split())
    assert len(asked(whole, "facing_gap")) == 14
    assert len(asked(whole, "gap")) == 26
    assert len(asked(whole, "root_angulation")) == 24
    assert len(asked(whole, "root_angulation", "article1998")) == 28


def test_everything_asked_for_is_needed_and_nothing_else() -> None:
    needed = {a.quantity for a in asks(INDEX, final([])) if a.needed}
    assert needed == {*CAST_ROWS, "root_angulation"}
    optional = {a.quantity for a in asks(INDEX, final([])) if not a.needed}
    assert optional == {"relation_target", "missing", "eruption"}


@pytest.mark.parametrize("quantity", [*CAST_ROWS, "root_angulation"])
def test_a_row_that_nobody_recorded_is_missing_by_site_and_has_no_points(quantity: str) -> None:
    score = scored([f"- {quantity} mouth none"])
    assert not score.complete
    assert list(lacking(score)) == [quantity]
    assert lacking(score)[quantity] == asked(final([]), quantity)
    (category,) = {m.category for m in score.missing}
    assert score.categories[category] is None
    assert score.total == 0


def test_nothing_recorded_leaves_everything_open() -> None:
    score = registry.score("outcome", Sheet("final", "permanent"))
    assert set(score.categories.values()) == {None}
    assert (score.total, score.complete) == (Decimal(0), False)
    assert list(lacking(score)) == [*CAST_ROWS, "root_angulation"]


@given(st.data())
def test_a_single_site_that_is_taken_out_is_named(data: st.DataObject) -> None:
    quantity = data.draw(st.sampled_from(CAST_ROWS))
    sites = asked(final([]), quantity)
    gone = data.draw(st.sampled_from(sites))
    kept = [f"{quantity} {site} 0" for site in sites if site != gone]
    score = scored([f"- {quantity} mouth none", *kept])
    assert lacking(score) == {quantity: (gone,)}


@pytest.mark.parametrize("statement", ["none", "rest_none"])
@pytest.mark.parametrize("quantity", [*CAST_ROWS, "root_angulation"])
def test_both_statements_are_looked_at_and_free(quantity: str, statement: str) -> None:
    score = scored([f"{quantity} mouth {statement}"])
    assert (score.total, score.complete) == (Decimal(0), True)
    (line,) = [x for x in score.lines if x.findings[0].quantity == quantity]
    assert (line.site, line.points) == ("mouth", Decimal(0))


def test_narrower_statements_cover_their_part_and_contacts_between_two_stated_regions() -> None:
    score = scored(
        ["- gap mouth none", "gap upper-right-back none", "gap upper-right-front none", "gap left none"]
    )
    assert lacking(score) == {"gap": tuple("47-46 46-45 45-44 44-43 43-42 42-41 41-31".split())}


def test_missing_teeth_close_up_and_are_named_with_their_cause() -> None:
    changes = [
        "missing mouth rest_none",
        "missing 14 extracted",
        "missing 24 unknown",
        "missing 37 lost",
        "missing 12 congenital",
    ]
    score = scored(changes)
    assert out(score) == [
        ("14", "missing: extracted"),
        ("12", "missing: never formed"),
        ("24", "missing: cause unknown"),
        ("37", "missing: lost"),
    ]
    closed = final(changes)
    assert {"15-13", "13-11", "23-25"} <= set(asked(closed, "gap"))
    assert not [site for site in asked(closed, "occlusal_gap") if site[:2] in ("14", "24", "37")]


@pytest.mark.parametrize(
    ("gone", "ridges"),
    [
        ("14", "17-16 16-15"),
        ("15", "17-16 16-14"),
        ("16", "17-15 15-14"),
        ("17", "16-15 15-14"),
        ("44", "47-46 46-45"),
        ("45", "47-46"),
        ("46", "47-45"),
    ],
)
def test_marginal_ridges_are_judged_where_teeth_meet(gone: str, ridges: str) -> None:
    there = asked(final(["missing mouth rest_none", f"missing {gone} extracted"]), "ridge_step")
    assert [site for site in there if site[0] == gone[0]] == ridges.split()


def test_a_gap_closed_by_extraction_scores_at_the_contact_that_closed() -> None:
    score = scored(
        ["missing mouth rest_none", "missing 14 extracted", "gap mouth rest_none", "gap 15-13 0.9"]
    )
    assert score.categories["interproximal"] == 1


def test_transposed_teeth_meet_in_the_order_in_which_they_stand() -> None:
    there = final(["transposed 13 yes"])
    assert {"15-13", "13-14", "14-12"} <= set(asked(there, "gap"))
    assert [site for site in asked(there, "ridge_step") if site[0] == "1"] == ["17-16", "16-15"]


@pytest.mark.parametrize(
    ("changes", "tooth", "why"),
    [
        (["eruption 47 partial"], "47", "not fully erupted"),
        (["eruption 47 unerupted"], "47", "not erupted"),
        (["impacted mouth rest_none", "impacted 23 yes"], "23", "impacted"),
        (["missing mouth rest_none", "missing 47 lost"], "47", "missing: lost"),
    ],
)
def test_a_tooth_that_is_not_fully_there_is_left_out_of_every_row_and_said(
    changes: list[str], tooth: str, why: str
) -> None:
    score = scored(changes)
    assert out(score) == [(tooth, why)]
    assert tooth not in score.extra["teeth_scored"]  # type: ignore[operator]
    for quantity in (*CAST_ROWS, "root_angulation"):
        assert not [site for site in asked(final(changes), quantity) if tooth in site], quantity


def test_a_tooth_that_stands_blocked_out_or_tipped_is_scored() -> None:
    score = scored(["blocked_out 12 labial", "impacted mouth rest_none", "impacted 37 tipped"])
    assert out(score) == []


def test_what_is_recorded_at_a_tooth_left_out_is_shown_without_points_and_records_no_category() -> None:
    score = scored(["eruption 17 partial", "- alignment_step mouth none", "alignment_step 17 3"])
    (line,) = [x for x in score.lines if x.site == "17"]
    assert (line.points, line.rule) == (Decimal(0), "left out: not fully erupted")
    assert score.categories["alignment"] is None


@pytest.mark.parametrize(
    ("found", "site"),
    [
        ("alignment_step", "38"),
        ("facing_gap", "28"),
        ("occlusal_gap", "48.mb"),
        ("ridge_step", "18-17"),
        ("inclination_step", "18"),
        ("gap", "37-38"),
    ],
)
def test_third_molars_never_score(found: str, site: str) -> None:
    score = scored([f"{found} mouth rest_none", f"{found} {site} 5"])
    (line,) = [x for x in score.lines if x.site == site]
    assert (line.points, line.rule) == (Decimal(0), "left out: third molar")
    assert (score.total, score.complete) == (Decimal(0), True)
    (tooth,) = [t for t in teeth.THIRD_MOLARS if t in site]
    assert out(score) == [(tooth, "third molar")]


def test_third_molars_that_do_not_stand_are_not_listed() -> None:
    score = scored(["missing mouth rest_none", "missing 18 extracted", "eruption 48 unerupted"])
    assert out(score) == []


def test_a_primary_tooth_that_stands_is_left_out_with_its_contacts() -> None:
    stands = " ".join("55" if t == "15" else t for t in teeth.DEFAULT_PERMANENT)
    changes = ["missing mouth rest_none", "missing 15 congenital"]
    score = scored([*changes, "root_angulation mouth rest_none", "root_angulation 55 tipped"], teeth=stands)
    assert out(score) == [("15", "missing: never formed"), ("55", "primary tooth")]
    assert (score.total, score.complete) == (Decimal(0), True)
    assert not [c for c in scored_contacts(final(changes, teeth=stands)) if "55" in c or c == "16-14"]


def test_beside_its_successor_a_primary_tooth_changes_no_contact() -> None:
    stands = " ".join((*teeth.DEFAULT_PERMANENT, "55"))
    score = scored([], teeth=stands)
    assert out(score) == [("55", "primary tooth")]
    assert len(asked(final([], teeth=stands), "gap")) == 26


def test_the_position_aimed_at_is_shown_and_gives_no_points() -> None:
    with_it = scored(
        ["relation_target right full2", "relation_target left class1", "- relation_step mouth none"]
    )
    lines = {x.site: x.rule for x in with_it.lines if x.findings[0].quantity == "relation_target"}
    assert lines == {
        "right": "position aimed at, full step Class II: 0 points",
        "left": "position aimed at, Class I: 0 points",
    }
    assert with_it.categories["relation"] is None
    assert scored([]).complete


def test_without_a_radiograph_the_total_is_casts_only_and_complete() -> None:
    score = scored(["root_angulation mouth not_taken"])
    assert score.complete
    assert score.categories["roots"] is None
    assert [(c.quantity, c.site, c.taken_as) for c in score.conventions] == [
        ("root_angulation", "mouth", "casts only")
    ]
    assert [v.says[:10] for v in score.verdicts if v.key == "casts_only"] == ["casts only"]
    assert out(score) == [("mouth", "roots: no panoramic radiograph, casts only")]


def test_not_taken_beside_a_recorded_root_does_not_hide_the_others() -> None:
    score = scored(["root_angulation mouth not_taken", "root_angulation 11 tipped"])
    assert (score.total, score.complete, score.conventions) == (Decimal(1), False, ())
    assert len(lacking(score)["root_angulation"]) == 23
    assert not [v for v in score.verdicts if v.key == "casts_only"]


def test_a_statement_about_roots_covers_canines_in_either_edition() -> None:
    for edition in INDEX.editions:
        assert registry.score("outcome", final([]), edition).complete
    by_manual, by_article = (
        registry.score(
            "outcome",
            final(
                [
                    "- root_angulation mouth none",
                    *(f"root_angulation {t} parallel" for t in teeth.DEFAULT_PERMANENT if t[1] != "3"),
                ]
            ),
            edition,
        )
        for edition in INDEX.editions
    )
    assert by_manual.complete
    assert lacking(by_article) == {"root_angulation": ("13", "23", "43", "33")}


@pytest.mark.parametrize(
    ("stage", "dentition", "inside"),
    [
        ("final", "permanent", True),
        ("retention", "permanent", True),
        ("post_retention", "permanent", False),
        ("initial", "permanent", False),
        ("interim", "permanent", False),
        ("final", "mixed", False),
        ("final", "primary", False),
    ],
)
def test_outside_its_stage_or_dentition_it_says_so_and_scores_all_the_same(
    stage: str, dentition: str, inside: bool
) -> None:
    stands = ("11", "21") if dentition == "mixed" else ()
    found = (Finding("alignment_step", "51" if dentition == "primary" else "11", "3"),)
    asked_for = Sheet(stage, dentition, found, stands)
    score = registry.score("outcome", asked_for)
    assert bool(score.outside) is not inside
    assert ("outcome" in registry.meant_for(asked_for)) is inside
    assert score.total == (0 if dentition == "primary" else 2)
    if not inside:
        assert (dentition if dentition != "permanent" else stage.replace("_", "-")) in score.outside


def test_other_totals_name_the_other_reading_of_a_limit() -> None:
    score = scored(
        [
            "relation_step mouth rest_none",
            "relation_step 13 2",
            "facing_gap mouth rest_none",
            "facing_gap 11 1",
        ]
    )
    assert score.total == 2
    assert [(o.choice, o.total) for o in score.other_totals] == [("exact_limit=upper", Decimal(4))]
    assert scored([]).other_totals == ()


def test_an_unknown_edition_or_value_is_refused_with_what_is_allowed() -> None:
    with pytest.raises(ChoiceRefused, match="manual2012, article1998"):
        registry.score("outcome", final([]), edition="manual2005")
    with pytest.raises(ChoiceRefused, match="lower, upper"):
        registry.score("outcome", final([]), choices={"exact_limit": "middle"})
    with pytest.raises(ChoiceRefused, match="exact_limit"):
        registry.score("outcome", final([]), choices={"limit": "lower"})


@pytest.mark.parametrize(
    "wrong",
    [
        "inclination_step 34 1",
        "ridge_step 45-44 1",
        "ridge_step 14-13 1",
        "occlusal_gap 16.mb 1",
        "relation_step 36 1",
        "facing_gap 36 1",
        "gap 17-15 1",
        "alignment_step 11 10.01",
        "alignment_step 11 unknown",
        "root_angulation 11 not_taken",
        "root_angulation mouth tipped",
    ],
)
def test_what_the_form_does_not_know_is_refused(wrong: str) -> None:
    with pytest.raises(ValueError, match=r".+"):
        sheet([wrong], stage="final")
