"""All models of this room, gathered for Django from the parts that keep them."""

from imaging.calibrating.models import Calibration, CalibrationStep, CalibrationWay
from imaging.marking.models import Marking, MarkingRevision
from imaging.norms.models import OwnNorm
from imaging.phone.models import PhoneCode
from imaging.repeats.models import RepeatTracing
from imaging.steps.models import StepAction
from imaging.superimposing.models import StableMarks
from imaging.tracing.models import MandibularPlane, Tracing, TracingRevision

__all__ = [
    "Calibration",
    "CalibrationStep",
    "CalibrationWay",
    "MandibularPlane",
    "Marking",
    "MarkingRevision",
    "OwnNorm",
    "PhoneCode",
    "RepeatTracing",
    "StableMarks",
    "StepAction",
    "Tracing",
    "TracingRevision",
]
