"""Reading: plain values for pages, rules and files."""

from portfolio.selectors.case_warnings import case_warnings
from portfolio.selectors.cases import DeletedCase, KeyLine, deleted_list, key_list
from portfolio.selectors.checklist import Checklist, checklist, record_states
from portfolio.selectors.courses import (
    CaseCourse,
    CoursePage,
    Statements,
    course_doubts,
    course_of,
    course_page,
    courses_of,
)
from portfolio.selectors.evidence import RestingFinding, evidence_of, findings_resting_on
from portfolio.selectors.history import HistoryEntry, HistoryLine, history, last_import
from portfolio.selectors.patients import ConsentFacts, PatientFacts, PatientRow, patient_facts, patient_list
from portfolio.selectors.record_sets import (
    RecordSetFacts,
    age_contradictions,
    record_set_facts,
    stage_label,
)
from portfolio.selectors.sheets import reading, readings_of, record_set_contradictions, sheets_to_read

__all__ = [
    "CaseCourse",
    "Checklist",
    "ConsentFacts",
    "CoursePage",
    "DeletedCase",
    "HistoryEntry",
    "HistoryLine",
    "KeyLine",
    "PatientFacts",
    "PatientRow",
    "RecordSetFacts",
    "RestingFinding",
    "Statements",
    "age_contradictions",
    "case_warnings",
    "checklist",
    "course_doubts",
    "course_of",
    "course_page",
    "courses_of",
    "deleted_list",
    "evidence_of",
    "findings_resting_on",
    "history",
    "key_list",
    "last_import",
    "patient_facts",
    "patient_list",
    "reading",
    "readings_of",
    "record_set_contradictions",
    "record_set_facts",
    "record_states",
    "sheets_to_read",
    "stage_label",
]
