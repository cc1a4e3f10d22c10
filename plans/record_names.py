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


def names(records: Iterable[str]) -> list[str]:
    """The names in a sentence; the usual photographs together are one thing."""
    found = list(records)
    if set(USUAL_PHOTOGRAPHS) <= set(found):
        rest = [record for record in found if record not in USUAL_PHOTOGRAPHS]
        every = [f"the {len(USUAL_PHOTOGRAPHS)} usual photographs"]
        return (
            [name(one) for one in rest if one == CASTS] + every + [name(one) for one in rest if one != CASTS]
        )
    return [name(record) for record in found]
