"""Everything in a case that contradicts something else."""

from datetime import date

from portfolio.models import Case, RecordSet
from portfolio.selectors.courses import course_doubts, course_of
from portfolio.selectors.record_sets import age_contradictions, stage_label
from portfolio.selectors.sheets import record_set_contradictions


def case_warnings(case: Case, today: date) -> tuple[str, ...]:
    """Ages, dates, findings against teeth, events against records; sentences without dates."""
    sets = list(RecordSet.objects.filter(case=case))
    said = age_contradictions(sets, case.patient.birth_date, today)
    for one in sets:
        label = stage_label(one.stage, one.ordinal)
        said += [f"{label.capitalize()}: {words}" for words in record_set_contradictions(one)]
    return (*said, *course_doubts(case, course_of(case, today).course, sets, today))
