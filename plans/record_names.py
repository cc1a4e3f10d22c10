"""The records of a stage that a plan can ask for, with their names.  Pure."""

from collections.abc import Iterable, Mapping

from portfolio.photographs import VIEWS
from portfolio.records import BY_KEY, CASTS, PAPER, PICTURE
from portfolio.records import RECORDS as CHECKLIST

_RADIOGRAPHS = tuple(record.key for record in CHECKLIST if record.group == "Radiographs")
_CARE = (*_RADIOGRAPHS, "radiograph_report")
_PICTURES = tuple(
    record.key for record in CHECKLIST if record.kind == PICTURE and record.key not in _RADIOGRAPHS
)


def _small(label: str) -> str:
    return label[:1].lower() + label[1:]


RECORDS: Mapping[str, str] = {
    record.key: f"photograph: {_small(record.label)}" if record.key in _PICTURES else _small(record.label)
    for record in CHECKLIST
}
"""Record → words: every line of the checklist of a stage (`portfolio.records`), in its order."""
USUAL_PHOTOGRAPHS = tuple(view.key for view in VIEWS if view.usual and view.key in _PICTURES)


def is_radiograph(record: str) -> bool:
    """Whether it is only ever there because the patient's care asked for a radiograph."""
    return record in _CARE


def name(record: str) -> str:
    """`casts`, `profile`, `panoramic radiograph`: the record where it is plain what kind it is."""
    return _small(BY_KEY[record].label)


def phrase(records: Iterable[str]) -> str:
    """`casts, the 8 usual photographs and photograph (oblique face)`: the records in a sentence, by what they are.

    Radiographs stand last, as far as they were taken for the patient's care.
    """
    found = list(records)
    usual = set(USUAL_PHOTOGRAPHS) <= set(found)
    views = [name(one) for one in found if one in _PICTURES and not (usual and one in USUAL_PHOTOGRAPHS)]
    said = [name(one) for one in found if BY_KEY[one].kind == CASTS]
    said += [f"the {len(USUAL_PHOTOGRAPHS)} usual photographs"] if usual else []
    said += [f"photograph{'s' * (len(views) > 1)} ({', '.join(views)})"] if views else []
    said += [name(one) for one in found if BY_KEY[one].kind == PAPER and not is_radiograph(one)]
    radiographs = [name(one) for one in found if is_radiograph(one)]
    if radiographs:
        said.append(f"{_listed(radiographs)} (as far as taken for the patient's care)")
    return _listed(said)


def _listed(words: list[str]) -> str:
    return f"{', '.join(words[:-1])} and {words[-1]}" if len(words) > 1 else "".join(words)
