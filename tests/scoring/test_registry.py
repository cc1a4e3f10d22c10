"""What the registry promises for every index."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from portfolio.readings import Sheet
from portfolio.vocabulary import ORDER, QUANTITIES
from scoring import indices, registry
from scoring.index import ChoiceRefused
from tests.scoring.sheets import cases, neutral_with

PROJECT = Path(__file__).parents[2]


@pytest.mark.parametrize("key", list(registry.INDEXES))
def test_the_rules_have_not_moved_without_their_digest(key: str) -> None:
    # A moved digest needs a new edition or a new revision of the worked rule; then write the new text.
    kept = (Path(indices.__path__[0]) / key / "digest.txt").read_text().strip()
    assert registry.rules_digest(key) == kept


def test_the_digest_is_the_same_in_another_process() -> None:
    code = "from scoring import registry; print(registry.rules_digest('discrepancy'))"
    environment = {**os.environ, "PYTHONHASHSEED": "7"}
    out = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=PROJECT, env=environment, check=True
    )
    assert out.stdout.strip() == registry.rules_digest("discrepancy")


@pytest.mark.parametrize("key", list(registry.INDEXES))
def test_every_folder_of_an_index_says_how_its_text_is_read(key: str) -> None:
    text = (Path(indices.__path__[0]) / key / "reading.md").read_text()
    for choice in registry.index(key).choices:
        assert f"`{choice.id}`" in text
        for value in choice.values:
            assert f"`{value}`" in text, (choice.id, value)


def test_every_quantity_read_is_in_the_vocabulary_and_asked_in_its_order() -> None:
    asked = [ask.quantity for ask in registry.needs(["discrepancy"], Sheet("initial", "permanent"))]
    assert set(asked) <= set(QUANTITIES)
    assert asked == sorted(asked, key=ORDER.__getitem__)
    assert {"overjet", "overbite", "crossbite", "anb", "added_complexity", "eruption"} <= set(asked)


def test_needs_name_the_places_that_stand_and_no_others() -> None:
    sheet = neutral_with(
        [
            "missing mouth rest_none",
            "missing 14 extracted",
            "eruption 13 partial",
            "- overjet 13",
            "- overbite 13",
        ]
    )
    asked = {ask.quantity: ask for ask in registry.needs(["discrepancy"], sheet)}
    assert asked["overjet"].sites == ("12", "11", "21", "22", "23")
    assert asked["crossbite"].sites == ("17", "16", "15", "24", "25", "26", "27")
    assert "15-13" in asked["gap"].sites
    assert not asked["palatal_contact"].needed
    assert "molar_substitute" not in asked


def test_what_is_asked_and_recorded_makes_the_score_complete() -> None:
    for case in cases():
        if case.complete:
            asked = {
                ask.quantity
                for ask in registry.needs(["discrepancy"], case.sheet, {"discrepancy": case.choices})
            }
            assert {f.quantity for f in case.sheet.findings} <= asked | {"palatal_contact"}, case.name


def test_an_index_that_is_not_built_is_refused_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(registry, "KEYS", (*registry.KEYS, "next_index"))
    with pytest.raises(registry.IndexRefused, match="not built yet"):
        registry.index("next_index")


def test_an_unknown_index_edition_choice_or_value_is_refused_with_what_is_allowed() -> None:
    sheet = Sheet("initial", "permanent")
    with pytest.raises(registry.IndexRefused, match="discrepancy"):
        registry.score("complexity", sheet)
    with pytest.raises(ChoiceRefused, match="worksheet"):
        registry.score("discrepancy", sheet, edition="2004")
    with pytest.raises(ChoiceRefused, match="crowding_1"):
        registry.score("discrepancy", sheet, choices={"crowding": "1"})
    with pytest.raises(ChoiceRefused, match="0, 1"):
        registry.score("discrepancy", sheet, choices={"crowding_1": "2"})


def test_choices_in_force_are_all_told() -> None:
    score = registry.score("discrepancy", Sheet("initial", "permanent"), choices={"crowding_1": "1"})
    assert set(score.choices) == {choice.id for choice in registry.index("discrepancy").choices}
    assert score.choices["crowding_1"] == "1"


def test_the_two_sets_of_choices_are_those_settled() -> None:
    index = registry.index("discrepancy")
    shipped, printed = index.choice_sets["as_shipped"], index.choice_sets["as_printed"]
    assert shipped == index.defaults
    assert {k: v for k, v in printed.items() if shipped[k] != v} == {
        "open_bite_start": "edge_point_plus",
        "crowding_1": "1",
    }
