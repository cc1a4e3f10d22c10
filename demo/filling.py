"""Fills an empty database with the invented clinic, all of it or nothing."""

from datetime import datetime, timedelta

from django.db import transaction

from accounts import services as people
from accounts.models import User
from demo import marking, noting, planning, radiographing, repeating, scenario, treating
from demo.broken import DemoBroken
from demo.drawings import HOW, drawn
from demo.scenario import DemoCase, DemoPortfolio, Person
from imaging import services as imaging
from portfolio import services
from portfolio.access import visible_portfolios, visible_record_sets, visible_sheets
from portfolio.models import Case, Portfolio, Sheet
from portfolio.readings import Sheet as SheetFile
from portfolio.services import record_items
from scoring import services as scores

BETWEEN_ENTRIES = timedelta(seconds=20)
AFTER_TYPING = timedelta(minutes=10)
BEFORE_LATEST = timedelta(minutes=30)
"""How long before the latest change the tracings were begun."""


def is_filled() -> bool:
    """Whether the invented clinic is there already."""
    return User.objects.filter(email=scenario.MANAGER.email).exists()


def holds_people() -> bool:
    """Whether anybody has an account in this database."""
    return User.objects.exists()


def fill(password: str, at: datetime) -> None:
    """Make the clinic's people, the candidate's portfolios and their cases.

    `at` is the time of the latest change; earlier ones lie before it. Raises DemoBroken when a service
    refuses a step, with nothing written.
    """
    pictures = {
        (stage, view): drawn(view, uneven) for stage, uneven in scenario.DRAWN_UNEVEN.items() for view in HOW
    }
    exposed = radiographing.exposures()
    with transaction.atomic():
        manager = _person(None, scenario.MANAGER, password, at)
        candidate = _person(manager, scenario.CANDIDATE, password, at)
        colleague = _person(manager, scenario.COLLEAGUE, password, at)
        services.create_portfolio(colleague, services.PortfolioDetails(name=scenario.COLLEAGUES_PORTFOLIO))
        for plan in scenario.PORTFOLIOS:
            _portfolio(candidate, plan, at)
        board = visible_portfolios(candidate).get(name=scenario.BOARD.name)
        noting.write_down(candidate, board, at)
        planning.hold_against(candidate, board, scenario.BOARD_PLAN, at)
        repeating.repeat_some(candidate, at)
        _kept_and_checked(candidate, at)
        _pictures(candidate, pictures)
        radiographing.put_in(candidate, exposed, at - BEFORE_LATEST)
        first = _initial(candidate, scenario.CASES[0].note)
        marking.put_on(candidate, first.record_set, first, scenario.DRAWN_UNEVEN["initial"], at)


def _person(by: User | None, person: Person, password: str, at: datetime) -> User:
    added = people.add_person(by, person.name, person.email, administrator=person.administrator)
    if not isinstance(added, User):
        raise DemoBroken(f"{person.email}: {added}")
    link = people.issue_link(by or added, added, at)
    if isinstance(link, people.Refused) or people.use_link(link.secret, password, at) is None:
        raise DemoBroken(f"{person.email}: the one-time link was refused")
    return added


def _portfolio(by: User, plan: DemoPortfolio, at: datetime) -> None:
    portfolio = services.create_portfolio(by, services.PortfolioDetails(name=plan.name))
    for stage, keys in plan.indices.items():
        scores.choose_indices(portfolio, stage, keys)
    between = timedelta(days=20) / len(plan.cases)
    for number, case in enumerate(plan.cases):
        _case(by, portfolio, case, at - timedelta(days=21) + between * number)


def _case(by: User, portfolio: Portfolio, plan: DemoCase, at: datetime) -> None:
    start = services.CaseStart(
        new_patient=services.PatientDetails(sex=plan.sex, locator=plan.locator),
        age_months=plan.sheets[0].age_months,
        note=plan.note,
    )
    case = services.create_case(by, portfolio, start)
    media = ["mouth", "radiographs", "casts", *(["faces"] if plan.faces else [])]
    services.add_consent(
        by,
        case.patient,
        services.ConsentDetails(
            purposes=["examination", "study_club"],
            media=media,
            signer=plan.signer,
            signed_on=plan.signed_on,
            paper_lies="Practice file, red folder",
        ),
    )
    for file in plan.sheets:
        sheet = _made_ready(by, case, file)
        if plan.typed and file is plan.sheets[0]:
            _type(by, sheet, plan, at)
        key = f"demo-{plan.locator}-{file.stage}"
        _taken(f"{plan.note}, {file.stage}", services.import_sheet(by, sheet, file, key, at + AFTER_TYPING))
    treating.put_on(by, case, plan.treatment)
    if plan.state != case.state:
        services.edit_case(case, state=plan.state, note=plan.note, seen_version=case.version)


def _made_ready(by: User, case: Case, file: SheetFile) -> Sheet:
    """The sheet of a file's stage, with its dentition, teeth and medium; a case begins with its initial records."""
    details = services.RecordSetDetails(
        stage=file.stage, age_months=file.age_months, dentition=file.dentition, teeth=file.teeth
    )
    found = visible_record_sets(by).filter(case=case, stage=file.stage).first()
    if found is None:
        found = services.add_record_set(by, case, details)
    elif file.dentition != found.dentition:
        services.edit_record_set(found, details, found.version)
    sheet = visible_sheets(by).get(record_set=found)
    if file.medium != sheet.medium:
        services.edit_sheet(sheet, medium=file.medium, step=sheet.step)
    return sheet


def _type(by: User, sheet: Sheet, plan: DemoCase, at: datetime) -> None:
    for number, (quantity, site, text) in enumerate(plan.typed):
        entry = services.Entry(quantity, site, typed=text)
        answer = services.record_findings(
            by, sheet, [entry], f"demo-{plan.locator}-{number}", at + number * BETWEEN_ENTRIES
        )
        _taken(f"{quantity} {site}", answer)


def _taken(step: str, answer: services.Answer) -> None:
    if not isinstance(answer, services.Recorded):
        raise DemoBroken(f"{step}: {answer}")


def _kept_and_checked(by: User, at: datetime) -> None:
    """Keep the first case's score and change a finding after it; type a paper tally with a slip for the second."""
    first, second = (_initial(by, case.note) for case in scenario.CASES[:2])
    scores.keep_score(by, first, "discrepancy", at - timedelta(days=2))
    # all its findings came in by one import, the latest change
    again = services.Entry("crowding", "lower", typed="5.0", seen=first.version)
    _taken(
        "crowding lower", services.record_findings(by, first, [again], "demo-again", at - timedelta(days=1))
    )
    scores.type_tally(by, second, "discrepancy", scenario.SLIPPED_TALLY, scenario.SLIPPED_TOTAL, at)


def _pictures(by: User, pictures: dict[tuple[str, str], bytes]) -> None:
    """Put the drawings of the first case into its records, assigned to their views; one view has a side check."""
    here = {row.stage: row for row in visible_record_sets(by).filter(case__note=scenario.CASES[0].note)}
    for (stage, view), data in pictures.items():
        answer = imaging.add_picture(by, here[stage], f"drawing {view}.png", data)
        if isinstance(answer, imaging.NotTaken):
            raise DemoBroken(f"picture {view}: {answer.reason}")
        record_items.assign_view(answer.item, view, answer.item.version)
        if view in ("front", "right", "left"):
            first = "right" if view == "right" else "left"
            record_items.save_side_check(answer.item, first, "no_mark", answer.item.version)


def _initial(by: User, note: str) -> Sheet:
    return visible_sheets(by).get(record_set__case__note=note, record_set__stage="initial")
