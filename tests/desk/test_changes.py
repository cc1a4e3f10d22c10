"""Before and after: one case, a caseload, what is left out and why, files to take away."""

from __future__ import annotations

import csv
import io
import re
import uuid

import pytest
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook

from accounts.models import User
from desk.change import export
from desk.change.many import Wanted, many
from desk.change.rescoring import RESCORING, ask, stale_sheets
from jobs.handle import JobHandle
from jobs.models import Job
from portfolio import services
from portfolio.models import Case, Portfolio, Sheet
from scoring import selectors
from scoring import services as scoring_services
from scoring.models import IndexChoice, StandingScore
from tests.factories.accounts import person, signed_in
from tests.factories.portfolio import NOON, PortfolioFactory, case_of, recorded
from tests.factories.scoring import loaded
from tests.scoring.sheets import neutral_with

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return person(name="Odile Marchetti")


@pytest.fixture
def client(owner: User) -> Client:
    return signed_in(owner)


def measured(case: Case, stage: str, *changes: str, index: str = "par") -> Sheet:
    """The working sheet of a stage with an index's neutral findings, those named replaced."""
    row = Sheet.objects.filter(record_set__case=case, record_set__stage=stage).first()
    if row is None:
        details = services.RecordSetDetails(stage=stage, age_months=190)
        row = services.add_record_set(case.patient.portfolio.owner, case, details).sheets.get()
    found = neutral_with(changes, index, stage=stage)
    recorded(services.import_sheet(row.reader, row, found, uuid.uuid4().hex, NOON))
    return loaded(row)


def treated(owner: User, before: str = "11", after: str = "2") -> Case:
    """A case whose greatest overjet fell: 11 mm scores 4 × 6 points by the weights of 1992, 2 mm none."""
    case = case_of(owner)
    measured(case, "initial", f"overjet 11 {before}")
    measured(case, "final", f"overjet 11 {after}")
    return case


def words(html: bytes) -> str:
    text = re.sub(r"<(script|style|svg).*?</\1>", " ", html.decode(), flags=re.S)
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text))


def page(client: Client, case: Case, **asked: str) -> str:
    return words(client.get(reverse("desk:case_change", args=[case.public_id]), asked).content)


def test_a_case_shows_the_change_by_total_row_and_verdict(client: Client, owner: User) -> None:
    said = page(client, treated(owner))
    assert "24 → then 0 −24" in said
    assert "Overjet 24 0 −24" in said
    assert "Greatly improved (24 points less, 100 %)" in said


def test_a_case_that_began_under_22_is_told_what_it_cannot_reach(client: Client, owner: User) -> None:
    assert "cannot reach “greatly improved”" in page(client, treated(owner, before="8"))


def test_a_caseload_tells_how_many_cases_cannot_be_greatly_improved(client: Client, owner: User) -> None:
    treated(owner)
    assert "cannot reach it" not in words(client.get(reverse("desk:changes")).content)
    treated(owner, before="8")
    said = words(client.get(reverse("desk:changes")).content)
    assert "50 %; 1 case began under 22 points and cannot reach it" in said


def test_one_stage_alone_says_what_is_missing_for_a_comparison(client: Client, owner: User) -> None:
    assert "A comparison needs records of two stages" in page(client, case_of(owner))


def test_the_stages_are_chosen_and_unknown_ones_fall_back(client: Client, owner: User) -> None:
    case = treated(owner)
    first, last = (case.record_sets.get(stage=stage) for stage in ("initial", "final"))
    turned = page(client, case, before=str(last.public_id), after=str(first.public_id))
    assert "0 → then 24 +24" in turned
    assert "Worse or no different" in turned
    assert "24 → then 0 −24" in page(client, case, before="nothing", after=str(uuid.uuid4()))
    assert "Nothing to compare yet" in page(
        client, case, before=str(first.public_id), after=str(first.public_id)
    )


def test_residual_need_is_off_until_asked_for(client: Client, owner: User) -> None:
    case = case_of(owner)
    measured(case, "initial", "overjet 11 11", index="iotn")
    measured(case, "final", index="iotn")
    plain = client.get(reverse("desk:case_change", args=[case.public_id])).content.decode()
    asked = client.get(reverse("desk:case_change", args=[case.public_id]), {"residual": "1"}).content.decode()
    iotn = re.compile(r'id="iotn".*?</section>', re.S)
    assert "nothing after" in (iotn.search(plain) or [""])[0]
    assert "nothing after" not in (iotn.search(asked) or [""])[0]
    assert "esidual need" in (iotn.search(asked) or [""])[0]


def test_different_media_are_told(client: Client, owner: User) -> None:
    case = treated(owner)
    Sheet.objects.filter(record_set__stage="final").update(medium="scan")
    assert "Measured on different media (plaster casts before, digital casts after)" in page(client, case)


def test_the_limit_of_results_is_the_owners_to_change(client: Client, owner: User) -> None:
    case = treated(owner)
    measured(case, "final", index="outcome")
    assert "one board's published limit" in page(client, case)
    address = reverse("desk:result_limit", args=[case.public_id])
    said = words(client.post(address, {"limit": "25"}, follow=True).content)
    assert "are held against 25 points" in said
    assert "a limit of your own" in said
    assert "Final: not over the limit of this portfolio, 25" in said
    assert "Nothing was changed" in words(client.post(address, {"limit": "-3"}, follow=True).content)
    assert IndexChoice.objects.get(index="outcome").limit == 25
    client.post(address, {"limit": ""})
    assert IndexChoice.objects.get(index="outcome").limit is None


def test_the_caseload_gives_means_shares_and_what_is_left_out(client: Client, owner: User) -> None:
    treated(owner)
    treated(owner, before="8")
    unfinished = case_of(owner)
    measured(unfinished, "initial", "- overjet 11")
    measured(unfinished, "final")
    scoring_services.choose_indices(unfinished.patient.portfolio, "initial", ["par"])
    case_of(owner)
    said = words(client.get(reverse("desk:changes")).content)
    assert "Before 2 21 4.2 18 to 24" in said
    assert "Change 2 −21 4.2 −24 to −18" in said
    assert "Greatly improved 1 50 %" in said
    assert "Improved 1 50 %" in said
    assert "mean of the per cents" in said
    assert "not complete: 1 case" in said
    assert "not measured: 1 case" in said


def test_nobody_sees_anothers_caseload(client: Client, owner: User) -> None:
    case = treated(owner)
    stranger = signed_in(person(name="Piet Vandermeulen"))
    assert case.code not in words(stranger.get(reverse("desk:changes")).content)
    assert case.code not in stranger.get(reverse("desk:changes_csv")).content.decode()
    assert stranger.get(reverse("desk:case_change", args=[case.public_id])).status_code == 404


def test_the_table_is_sorted_and_those_without_a_number_come_last(client: Client, owner: User) -> None:
    small, large, none = treated(owner, before="8"), treated(owner), case_of(owner)
    for sort, order in (("before", [small, large, none]), ("-before", [large, small, none])):
        html = client.get(reverse("desk:changes"), {"sort": sort}).content.decode()
        table = html[html.index("pair-table") :]
        places = [table.index(case.code) for case in order]
        assert places == sorted(places)


def test_scores_of_another_version_are_worked_out_before_they_are_shown(client: Client, owner: User) -> None:
    case = treated(owner)
    client.get(reverse("desk:changes"))
    assert StandingScore.objects.filter(index="par").count() == 2
    StandingScore.objects.update(total_hundredths=9900)
    Sheet.objects.filter(record_set__case=case, record_set__stage="initial").update(version=77)
    assert "Before 1 24" in words(client.get(reverse("desk:changes")).content)


def test_many_scores_are_left_to_a_job_which_works_them_out(
    client: Client, owner: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("desk.change.rescoring.AT_ONCE", 1)
    monkeypatch.setattr("desk.change.rescoring.TOGETHER", 1)
    treated(owner)
    assert "2 scores must be worked out anew" in words(client.get(reverse("desk:changes")).content)
    client.post(reverse("desk:rescore", args=["par"]))
    client.post(reverse("desk:rescore", args=["par"]))
    job = Job.objects.get(kind=RESCORING.key)
    Job.objects.filter(pk=job.pk).update(state=Job.State.RUNNING)
    assert RESCORING.work(JobHandle(job)) is None
    assert stale_sheets(owner, "par") == []
    assert "Before 1 24" in words(client.get(reverse("desk:changes")).content)
    assert client.post(reverse("desk:rescore", args=["nothing"])).status_code == 404
    assert ask(owner, "par", NOON).subject == "par"


def test_the_number_of_queries_does_not_grow_with_the_cases(
    client: Client, owner: User, django_assert_max_num_queries: object
) -> None:
    for _ in range(6):
        treated(owner)
    client.get(reverse("desk:changes"))
    with django_assert_max_num_queries(12):  # type: ignore[operator]
        client.get(reverse("desk:changes"))


def test_csv_and_spreadsheet_hold_the_same_numbers_and_words_for_what_is_missing(
    client: Client, owner: User
) -> None:
    case, alone = treated(owner), case_of(owner)
    client.get(reverse("desk:changes"))
    answer = client.get(reverse("desk:changes_csv"))
    assert 'filename="change-par-initial-final.csv"' in answer["Content-Disposition"]
    rows = {row[0]: row for row in csv.reader(io.StringIO(answer.content.decode()))}
    assert rows[case.code][1:6] == ["24", "0", "-24", "100", "greatly improved"]
    assert "no such records" in rows[alone.code]
    assert (rows[case.code][6], rows[alone.code][6]) == ("the same", "not told")
    book = load_workbook(io.BytesIO(client.get(reverse("desk:changes_xlsx")).content))
    cells = {row[0].value: row for row in book["cases"].iter_rows()}
    assert [cell.value for cell in cells[case.code][1:5]] == [24, 0, -24, 100]
    assert all(cell.data_type == "n" for cell in cells[case.code][1:5])
    assert cells[alone.code][2].data_type == "s"
    assert book["summary"]["A2"].value == "PAR initial"


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx", "'x"])
def test_text_cells_can_never_be_formulas(text: str) -> None:
    assert export.harmless(text) == f"'{text}"
    assert export.harmless(f"a{text}") == f"a{text}"


def test_other_weights_give_no_verdicts_and_mixed_weights_are_told(client: Client, owner: User) -> None:
    case = treated(owner)
    scoring_services.choose_edition(case.patient.portfolio, "par", "us1995")
    said = words(client.get(reverse("desk:changes")).content)
    assert "Greatly improved" not in said
    assert "20 → then 0 −20" in page(client, case)
    other = PortfolioFactory(owner=owner, name="Other")
    second = services.create_case(owner, other, services.CaseStart())
    measured(second, "initial", "overjet 11 11")
    assert "read by different editions" in words(client.get(reverse("desk:changes")).content)


@pytest.mark.parametrize("index", ["icon", "irregularity", "discrepancy", "outcome"])
def test_every_offered_index_has_its_caseload(client: Client, owner: User, index: str) -> None:
    case = case_of(owner)
    stages = {"discrepancy": ("initial",), "outcome": ("final",)}.get(index, ("initial", "final"))
    for stage in stages:
        measured(case, stage, index=index)
    found = many(owner, Wanted(index=index))
    assert client.get(reverse("desk:changes"), {"index": index}).status_code == 200
    found = many(owner, Wanted(index=index))
    assert [p.code for p in found.pairs] == [case.code]
    assert found.stale == ()
    side = found.pairs[0].after if index == "outcome" else found.pairs[0].before
    assert side is not None
    assert client.get(reverse("desk:changes_xlsx"), {"index": index}).status_code == 200


def test_an_empty_caseload_says_so(client: Client) -> None:
    assert "No case has records of these stages" in words(client.get(reverse("desk:changes")).content)


def test_a_limit_counts_results_at_or_under_it(client: Client, owner: User) -> None:
    case = case_of(owner)
    measured(case, "final", index="outcome")
    said = words(client.get(reverse("desk:changes"), {"index": "outcome"}).content)
    assert "1 of 1 at or under the limit of 27" in said
    assert selectors.limits([Portfolio.objects.get().pk], "outcome") == {}


def test_records_that_are_not_measured_for_an_index_say_so(client: Client, owner: User) -> None:
    case = case_of(owner)
    measured(case, "final")
    portfolio = case.patient.portfolio
    scoring_services.choose_indices(portfolio, "final", ["par"])
    shown = words(client.get(reverse("desk:changes"), {"index": "outcome"}).content)
    assert "not measured for it" in shown
    scoring_services.choose_indices(portfolio, "final", ["par", "outcome"])
    shown = words(client.get(reverse("desk:changes"), {"index": "outcome"}).content)
    assert "not complete" in shown
