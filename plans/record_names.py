"""The records of a stage that a plan can ask for, with their names.  Pure."""

from collections.abc import Iterable, Mapping

from portfolio.photographs import BY_KEY, RADIOGRAPHS, VIEWS, WITNESS

CASTS = "casts"
_PICTURES = {view.key: view for view in VIEWS if view.band not in (RADIOGRAPHS, WITNESS)}
_RADIOGRAPHS = {view.key: view for view in VIEWS if view.band == RADIOGRAPHS}
RECORDS: Mapping[str, str] = {
    CASTS: "casts",
    **{key: f"photograph: {view.label[:1].lower()}{view.label[1:]}" for key, view in _PICTURES.items()},
    **{key: f"{view.label[:1].lower()}{view.label[1:]}" for key, view in _RADIOGRAPHS.items()},
}
"""Record → words: casts, every view of the photographs, radiographs."""
USUAL_PHOTOGRAPHS = tuple(key for key, view in _PICTURES.items() if view.usual)


def is_radiograph(record: str) -> bool:
    """Whether it is a record that is only ever taken for the patient's care."""
    return record in _RADIOGRAPHS


def name(record: str) -> str:
    """`casts`, `profile`, `panoramic radiograph`: the record where it is plain what kind it is."""
    if record == CASTS:
        return "casts"
    label = BY_KEY[record].label
    return f"{label[:1].lower()}{label[1:]}"


def phrase(records: Iterable[str]) -> str:
    """`casts, the 8 usual photographs and photograph (oblique face)`: the records in a sentence, by what they are.

    Radiographs stand last, as far as they were taken for the patient's care.
    """
    found = list(records)
    usual = set(USUAL_PHOTOGRAPHS) <= set(found)
    views = [name(one) for one in found if one in _PICTURES and not (usual and one in USUAL_PHOTOGRAPHS)]
    said = [CASTS] if CASTS in found else []
    said += [f"the {len(USUAL_PHOTOGRAPHS)} usual photographs"] if usual else []
    said += [f"photograph{'s' * (len(views) > 1)} ({', '.join(views)})"] if views else []
    radiographs = [name(one) for one in found if is_radiograph(one)]
    if radiographs:
        said.append(f"{_listed(radiographs)} (as far as taken for the patient's care)")
    return _listed(said)


def _listed(words: list[str]) -> str:
    return f"{', '.join(words[:-1])} and {words[-1]}" if len(words) > 1 else "".join(words)
