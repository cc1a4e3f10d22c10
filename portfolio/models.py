"""Portfolios, coded patients, consents, cases, record sets, sheets, findings and their history.

Fields and constraints only: writing is in `services`, reading in `selectors`, who may see what in `access`.
"""

import uuid
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from portfolio.append_only import AppendOnly
from portfolio.case_log.models import LogAction as LogAction
from portfolio.case_log.models import LogChange as LogChange
from portfolio.case_log.models import LogLine as LogLine
from portfolio.codes import new_code
from portfolio.error_figures.models import ErrorFigure as ErrorFigure
from portfolio.evidence import Evidence as Evidence
from portfolio.evidence import EvidenceKind as EvidenceKind
from portfolio.moving.models import MoveAnswer as MoveAnswer
from portfolio.moving.models import MoveRequest as MoveRequest
from portfolio.record_item import ItemKind as ItemKind
from portfolio.record_item import ItemState as ItemState
from portfolio.record_item import PatientsRight as PatientsRight
from portfolio.record_item import RecordItem as RecordItem
from portfolio.record_item import SideCheck as SideCheck
from portfolio.repeating.models import RepeatSheet as RepeatSheet
from portfolio.repeating.models import RepeatStatement as RepeatStatement
from portfolio.repeating.models import StatementKind as StatementKind
from portfolio.treatment.models import CaseStatements as CaseStatements
from portfolio.treatment.models import TreatmentEvent as TreatmentEvent


class Notation(models.TextChoices):
    ISO3950 = "iso3950", "ISO 3950 (11 to 48)"
    UNIVERSAL = "universal", "Universal (1 to 32)"
    PALMER = "palmer", "Palmer (UR1 to LR8)"


class Paper(models.TextChoices):
    A4 = "a4", "A4"
    LETTER = "letter", "Letter"


class DatePolicy(models.TextChoices):
    AGES = "ages", "ages and months since the start, no dates"
    YEARS = "years", "years of the records only"
    DATES = "dates", "dates of the records, ages in whole years"


class Sex(models.TextChoices):
    FEMALE = "female", "female"
    MALE = "male", "male"
    OTHER = "other", "other"


class CaseState(models.TextChoices):
    POSSIBLE = "possible", "possible"
    CHOSEN = "chosen", "chosen"
    DONE = "done", "done"
    LEFT_OUT = "left_out", "left out"


class Stage(models.TextChoices):
    INITIAL = "initial", "initial"
    INTERIM = "interim", "interim"
    FINAL = "final", "final"
    RETENTION = "retention", "retention"
    POST_RETENTION = "post_retention", "post-retention"


class Dentition(models.TextChoices):
    PRIMARY = "primary", "primary"
    MIXED = "mixed", "mixed"
    PERMANENT = "permanent", "permanent"


class Occlusion(models.TextChoices):
    INTERCUSPAL = "intercuspal", "intercuspal"
    RETRUDED = "retruded", "retruded contact"
    ARTICULATOR = "articulator", "articulator"
    UNKNOWN = "unknown", "not known"


class Signer(models.TextChoices):
    PATIENT = "patient", "the patient"
    GUARDIAN = "guardian", "a parent or guardian"
    BOTH = "both", "the patient and a parent or guardian"


class SheetPurpose(models.TextChoices):
    WORKING = "working", "working sheet"
    REPEAT = "repeat", "repeat"
    PROPOSED = "proposed", "proposed values"
    BLIND = "blind", "blind"
    REFERENCE = "reference", "reference"
    AUDIT = "audit", "audit"
    TRAINING = "training", "training"


class Medium(models.TextChoices):
    PLASTER = "plaster", "plaster casts"
    PRINTED = "printed", "printed casts"
    SCAN = "scan", "scan"
    PHOTOGRAPH = "photograph", "photograph"
    RADIOGRAPH = "radiograph", "radiograph"
    PATIENT = "patient", "the patient"
    NOTES = "notes", "clinical notes"


class Step(models.TextChoices):
    HUNDREDTH = "0.01", "0.01 mm"
    TENTH = "0.1", "0.1 mm"
    HALF = "0.5", "0.5 mm"
    WHOLE = "1", "1 mm"


class FindingState(models.TextChoices):
    MEASURED = "measured", "measured"
    FREE = "free", "none"
    REST_FREE = "rest_free", "rest none"
    UNKNOWN = "unknown", "cannot be told"


class ChangeAction(models.TextChoices):
    ENTER = "enter", "entered"
    CLEAR = "clear", "cleared"
    NONE_REGION = "none_region", "stated free"
    ACCEPT = "accept", "accepted"
    IMPORT = "import", "imported"
    UNDO = "undo", "undone"


CODE_IN_USE = {"unique": "This code is in use. Take another one."}


def _one_of(field: str, choices: type[models.TextChoices], name: str) -> models.CheckConstraint:
    return models.CheckConstraint(condition=Q(**{f"{field}__in": choices.values}), name=name)


class Portfolio(models.Model):
    """What one clinician collects for one purpose."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    owner = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="portfolios")
    name = models.CharField(max_length=120)
    notation = models.CharField(max_length=12, choices=Notation, default=Notation.ISO3950)
    paper = models.CharField(max_length=8, choices=Paper, default=Paper.A4)
    date_policy = models.CharField(max_length=8, choices=DatePolicy, default=DatePolicy.AGES)
    repeat_wait_days = models.PositiveSmallIntegerField(default=14)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(name=""), name="portfolio_name_given"),
            _one_of("notation", Notation, "portfolio_notation_known"),
            _one_of("paper", Paper, "portfolio_paper_known"),
            _one_of("date_policy", DatePolicy, "portfolio_date_policy_known"),
        ]

    def __str__(self) -> str:
        return self.name


class Patient(models.Model):
    """A coded patient. Locator, birth date and day shift are private to the owner."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    portfolio = models.ForeignKey(Portfolio, on_delete=models.CASCADE, related_name="patients")
    code = models.CharField(max_length=8, unique=True, default=new_code, error_messages=CODE_IN_USE)
    sex = models.CharField(max_length=8, choices=Sex, null=True, blank=True)  # noqa: DJ001 null = not recorded
    locator = models.CharField(max_length=200, blank=True)
    birth_date = models.DateField(null=True, blank=True)
    day_shift = models.IntegerField(null=True, blank=True)
    searchable = models.CharField(max_length=500, blank=True, editable=False)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(code=""), name="patient_code_given"),
            models.CheckConstraint(
                condition=Q(sex__isnull=True) | Q(sex__in=Sex.values), name="patient_sex_known"
            ),
        ]

    def __str__(self) -> str:
        return self.code


class Consent(models.Model):
    """What was signed, for what, by whom and where the paper lies; the paper is never uploaded."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    patient = models.ForeignKey(Patient, on_delete=models.CASCADE, related_name="consents")
    purposes = models.JSONField(default=list)
    media = models.JSONField(default=list)
    signer = models.CharField(max_length=10, choices=Signer)
    signed_on = models.DateField()
    expires = models.DateField(null=True, blank=True)
    withdrawn_on = models.DateField(null=True, blank=True)
    paper_lies = models.CharField(max_length=200, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            _one_of("signer", Signer, "consent_signer_known"),
            models.CheckConstraint(
                condition=Q(expires__isnull=True) | Q(expires__gte=F("signed_on")),
                name="consent_expires_after_signing",
            ),
            models.CheckConstraint(
                condition=Q(withdrawn_on__isnull=True) | Q(withdrawn_on__gte=F("signed_on")),
                name="consent_withdrawn_after_signing",
            ),
        ]

    def __str__(self) -> str:
        return f"consent {self.public_id}"


class Case(models.Model):
    """One course of treatment of a coded patient. Deleting is soft until the owner erases it."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    patient = models.ForeignKey(Patient, on_delete=models.CASCADE, related_name="cases")
    code = models.CharField(max_length=8, unique=True, default=new_code, error_messages=CODE_IN_USE)
    state = models.CharField(max_length=10, choices=CaseState, default=CaseState.POSSIBLE)
    note = models.TextField(blank=True, max_length=2000)
    estimate = models.JSONField(null=True, blank=True)
    deleted_at = models.DateTimeField(null=True, blank=True)
    searchable = models.TextField(blank=True, editable=False)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(code=""), name="case_code_given"),
            _one_of("state", CaseState, "case_state_known"),
        ]

    def __str__(self) -> str:
        return self.code


class RecordSet(models.Model):
    """The records of one stage. The day they were taken is private; age is in whole months."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    case = models.ForeignKey(Case, on_delete=models.CASCADE, related_name="record_sets")
    stage = models.CharField(max_length=16, choices=Stage)
    ordinal = models.PositiveSmallIntegerField(default=1)
    reason = models.CharField(max_length=200, blank=True)
    taken_on = models.DateField(null=True, blank=True)
    age_months = models.PositiveSmallIntegerField(null=True, blank=True)
    dentition = models.CharField(max_length=10, choices=Dentition, default=Dentition.PERMANENT)
    occlusion = models.CharField(max_length=12, choices=Occlusion, default=Occlusion.INTERCUSPAL)
    teeth = models.TextField(blank=True)
    sheet_of_record = models.ForeignKey(
        "portfolio.Sheet", null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["case", "stage", "ordinal"],
                name="record_set_once_per_stage",
                violation_error_message="This case already has records of this stage with this number.",
            ),
            _one_of("stage", Stage, "record_set_stage_known"),
            _one_of("dentition", Dentition, "record_set_dentition_known"),
            _one_of("occlusion", Occlusion, "record_set_occlusion_known"),
            models.CheckConstraint(condition=Q(ordinal__gte=1), name="record_set_ordinal_from_one"),
            models.CheckConstraint(
                condition=Q(age_months__isnull=True) | Q(age_months__lte=1440),
                name="record_set_age_within_life",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.stage} {self.ordinal}"


class Sheet(models.Model):
    """All findings of one reader on one record set; `version` is the number of its last change."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    record_set = models.ForeignKey(RecordSet, on_delete=models.CASCADE, related_name="sheets")
    reader = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="sheets")
    purpose = models.CharField(max_length=10, choices=SheetPurpose, default=SheetPurpose.WORKING)
    occasion = models.PositiveSmallIntegerField(default=1)
    medium = models.CharField(max_length=12, choices=Medium, default=Medium.PLASTER)
    step = models.CharField(max_length=4, choices=Step, default=Step.TENTH)
    origin = models.CharField(max_length=200, blank=True, default="")
    version = models.PositiveIntegerField(default=0)
    sealed = models.BooleanField(default=False)
    handed_in_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["record_set", "reader"],
                condition=Q(purpose=SheetPurpose.WORKING),
                name="sheet_one_working_per_reader",
            ),
            _one_of("purpose", SheetPurpose, "sheet_purpose_known"),
            _one_of("medium", Medium, "sheet_medium_known"),
            _one_of("step", Step, "sheet_step_known"),
        ]

    def __str__(self) -> str:
        return f"{self.purpose} sheet {self.public_id}"


class Finding(models.Model):
    """One observed fact about one site. A cleared finding is no row.

    `value` is the text rules read; `hundredths` is an integer copy for sorting, because SQLite keeps
    decimals as floating point. `error_parts` are what `sd` is made of, by cause, as decimal texts;
    `evidence_at` is the change that gave this finding its evidence, 0 for none.
    """

    sheet = models.ForeignKey(Sheet, on_delete=models.CASCADE, related_name="findings")
    quantity = models.CharField(max_length=40)
    site = models.CharField(max_length=24)
    nth = models.PositiveSmallIntegerField(default=1)
    state = models.CharField(max_length=10, choices=FindingState)
    value = models.CharField(max_length=500)
    hundredths = models.IntegerField(null=True, blank=True)
    method = models.CharField(max_length=12, blank=True)
    medium = models.CharField(max_length=12, blank=True)
    plane = models.CharField(max_length=12, blank=True)
    sd = models.CharField(max_length=12, blank=True)
    error_parts = models.JSONField(default=dict, blank=True)
    evidence_at = models.PositiveIntegerField(default=0)
    note = models.CharField(max_length=500, blank=True)
    changed_in = models.PositiveIntegerField()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["sheet", "quantity", "site", "nth"], name="finding_once_per_sheet_and_site"
            ),
            _one_of("state", FindingState, "finding_state_known"),
            models.CheckConstraint(condition=Q(nth__gte=1), name="finding_nth_from_one"),
            models.CheckConstraint(condition=Q(changed_in__gte=1), name="finding_changed_in_from_one"),
            models.CheckConstraint(
                condition=~Q(value="") & ~Q(quantity="") & ~Q(site=""), name="finding_says_something"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.site} {self.value}"


class AppendOnlyChanges(AppendOnly["SheetChange"]):
    """Changes are written once; they go only with the case they belong to."""


class SheetChange(models.Model):
    """One step in the history of a sheet, with what each finding was before and after, and the typed text."""

    sheet = models.ForeignKey(Sheet, on_delete=models.CASCADE, related_name="changes")
    number = models.PositiveIntegerField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    action = models.CharField(max_length=12, choices=ChangeAction)
    undoes = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.CASCADE, related_name="undone_by"
    )
    request_key = models.CharField(max_length=64)
    items = models.JSONField(default=list)

    objects = AppendOnlyChanges.as_manager()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["sheet", "number"], name="sheet_change_number_once"),
            models.UniqueConstraint(fields=["sheet", "request_key"], name="sheet_change_request_once"),
            _one_of("action", ChangeAction, "sheet_change_action_known"),
            models.CheckConstraint(condition=~Q(request_key=""), name="sheet_change_request_given"),
        ]

    def __str__(self) -> str:
        return f"change {self.number}"
