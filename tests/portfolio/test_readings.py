"""The sheet file in JSON and in CSV: what is read, what is refused with its place, and the way back."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio import sites, teeth
from portfolio.readings import (
    FINDING_KEYS,
    Fault,
    Finding,
    Sheet,
    SheetRefused,
    check,
    read_csv,
    read_json,
    write_csv,
    write_json,
)
from portfolio.vocabulary import MEDIA, METHODS, OCCLUSIONS, QUANTITIES, STAGES

OVERJET = {"quantity": "overjet", "site": "11", "value": "11", "method": "caliper"}
PLAIN: dict[str, Any] = {"sheet": 1, "stage": "initial", "dentition": "permanent", "findings": [OVERJET]}
CSV = "#stage,initial\n#dentition,permanent\nquantity,site,value,method\noverjet,11,11,caliper\n"


def _refused(text: str, read: Any = read_json) -> list[str]:
    with pytest.raises(SheetRefused) as refused:
        read(text)
    assert refused.value.faults
    return [str(fault) for fault in refused.value.faults]


def _with(**changes: Any) -> str:
    return json.dumps({key: value for key, value in (PLAIN | changes).items() if value is not ...})


def _finding(**changes: Any) -> str:
    return _with(findings=[{k: v for k, v in (OVERJET | changes).items() if v is not ...}])


def test_the_printed_example_is_read() -> None:
    text = """{"sheet": 1, "stage": "initial", "dentition": "permanent", "age_months": 164, "notation": "iso3950",
     "occlusion": "intercuspal", "medium": "plaster", "teeth": ["17", "16", "13", "11"],
     "findings": [
       {"quantity": "overjet", "site": "11", "value": "11", "method": "caliper"},
       {"quantity": "overbite", "site": "13", "value": "-3", "method": "caliper"},
       {"quantity": "molar_relation", "site": "right", "value": "full2", "method": "eye"},
       {"quantity": "crossbite", "site": "mouth", "value": "none", "method": "eye"}],
     "derived": {"anything": [1.5, null]}, "not_derived": [true]}"""
    sheet = read_json(text)
    assert (sheet.stage, sheet.dentition, sheet.age_months) == ("initial", "permanent", 164)
    assert (sheet.occlusion, sheet.medium, sheet.teeth) == (
        "intercuspal",
        "plaster",
        ("17", "16", "13", "11"),
    )
    assert [(f.quantity, f.site, f.value, f.method) for f in sheet.findings][1:3] == [
        ("overbite", "13", "-3", "caliper"),
        ("molar_relation", "right", "full2", "eye"),
    ]


def test_only_four_keys_are_required_and_the_rest_is_not_recorded() -> None:
    sheet = read_json(_with())
    assert (sheet.age_months, sheet.occlusion, sheet.medium, sheet.teeth) == (None, "unknown", "", ())
    assert read_csv(CSV) == sheet


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"sheet": ...}, "sheet"),
        ({"stage": ...}, "stage"),
        ({"dentition": ...}, "dentition"),
        ({"findings": ...}, "findings"),
        ({"sheet": 2}, "sheet"),
        ({"sheet": "1"}, "sheet"),
        ({"sheet": True}, "sheet"),
        ({"sheet": 1.0}, "sheet"),
        ({"stage": "later"}, "stage"),
        ({"stage": None}, "stage"),
        ({"dentition": "adult"}, "dentition"),
        ({"dentition": "mixed"}, "teeth"),
        ({"age_months": "164"}, "age_months"),
        ({"age_months": 164.5}, "age_months"),
        ({"age_months": True}, "age_months"),
        ({"age_months": -1}, "age_months"),
        ({"age_months": 1501}, "age_months"),
        ({"notation": "universal"}, "notation"),
        ({"occlusion": "open"}, "occlusion"),
        ({"medium": "wax"}, "medium"),
        ({"medium": ""}, "medium"),
        ({"teeth": []}, "teeth"),
        ({"teeth": "11 12"}, "teeth"),
        ({"teeth": [11, 12]}, "teeth"),
        ({"teeth": ["11", "19"]}, "teeth"),
        ({"teeth": ["11", "11"]}, "teeth"),
        ({"teeth": ["11", "UR6"]}, "teeth"),
        ({"findings": {}}, "findings"),
        ({"findings": None}, "findings"),
        ({"findings": ["overjet"]}, "findings[0]"),
        ({"examiner": "me"}, "examiner"),
    ],
)
def test_a_faulty_frame_is_refused_and_the_key_named(changes: dict[str, Any], where: str) -> None:
    said = _refused(_with(**changes))
    assert len(said) == 1, said
    assert said[0].startswith(f"{where}: ")


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"value": 11}, "value must be a text in quotation marks, numbers too"),
        ({"value": True}, "value must be a text"),
        ({"value": None}, "value must be a text"),
        ({"value": ["11"]}, "value must be a text"),
        ({"sd": 0.2}, "sd must be a text in quotation marks, numbers too"),
        ({"site": 11}, "site must be a text in quotation marks"),
        ({"value": ...}, "value is required"),
        ({"site": ...}, "site is required"),
        ({"quantity": ...}, "quantity is required"),
        ({"examiner": "me"}, '"examiner" is not a key of a finding'),
        ({"value": ""}, "is not a number"),
        ({"value": " 3"}, "is not a number"),
        ({"site": ""}, "is not a site"),
    ],
)
def test_a_faulty_entry_is_refused_with_its_place(changes: dict[str, Any], says: str) -> None:
    said = _refused(_finding(**changes))
    assert len(said) == 1, said
    assert said[0].startswith("findings[0]")
    assert says in said[0]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "nonsense",
        "[" * 100_000,
        '{"sheet": 1' + "0" * 5000 + "}",
        _with().replace('"11"', "NaN", 1),
        _with().replace('"11"', "Infinity", 1),
        _with().replace('"11"', "-Infinity", 1),
    ],
)
def test_what_is_not_json_is_refused_in_words(text: str) -> None:
    said = _refused(text)
    assert len(said) == 1
    assert said[0].startswith("file: is not readable as JSON")


@pytest.mark.parametrize("text", ["[]", "1", "null", '"sheet"'])
def test_what_is_json_but_no_object_is_refused(text: str) -> None:
    assert "is not a sheet" in _refused(text)[0]


def test_a_key_that_stands_twice_is_refused_wherever_it_stands() -> None:
    said = _refused(_with().replace('"stage"', '"stage": "final", "stage"'))
    assert said == ['file: key "stage" stands twice in one object']
    said = _refused(_with().replace('"value"', '"value": "3", "value"'))
    assert said == ['file: key "value" stands twice in one object']


def test_a_byte_order_mark_is_taken_in_both_formats() -> None:
    assert read_json("\ufeff" + _with()) == read_json(_with())
    assert read_csv("\ufeff" + CSV) == read_csv(CSV)


def test_all_faults_of_a_file_are_told_together_each_with_its_place() -> None:
    entries = [
        OVERJET | {"value": "99"},
        {"quantity": "overbite"},
        OVERJET,
        OVERJET,
        OVERJET | {"site": "44"},
    ]
    said = _refused(_with(stage="later", age_months="x", findings=entries))
    assert [line.split(":")[0] for line in said] == [
        "age_months",
        "findings[1]",
        "findings[1]",
        "stage",
        "findings[0] (overjet 11)",
        "findings[2] (overjet 11)",
        "findings[3] (overjet 11)",
        "findings[4] (overjet 44)",
    ]


def test_a_list_of_teeth_that_cannot_be_read_brings_no_false_alarms() -> None:
    findings = [OVERJET, {"quantity": "crossbite", "site": "55", "value": "edge"}]
    assert len(_refused(_with(teeth=[11, 55], findings=findings))) == 1


def test_aliases_are_stored_as_codes_and_repeated_words_are_numbered_in_file_order() -> None:
    words = [
        {"quantity": "added_complexity", "site": "mouth", "value": w} for w in ("roots", "pegs", "roots")
    ]
    bite = {"quantity": "crossbite", "site": "16", "value": "buccal"}
    sheet = read_json(_with(findings=[words[0], bite, *words[1:]]))
    assert [(f.value, f.nth) for f in sheet.findings] == [
        ("roots", 1),
        ("upper_outside", 1),
        ("pegs", 2),
        ("roots", 3),
    ]


def test_a_huge_file_is_read_or_refused_without_hanging() -> None:
    many = [{"quantity": "habit", "site": "mouth", "value": f"number {n}"} for n in range(5000)]
    assert read_json(_with(findings=many)).findings[-1].nth == 5000
    assert "at most 5000" in _refused(_with(findings=[*many, many[0]]))[0]
    assert len(_refused(_with(**{f"key{n}": 0 for n in range(50_000)}))) == 50_000
    assert len(_refused(_with(teeth=["11"] * 200_000))) == 1
    rows = "".join(f"habit,mouth,{n}\n" for n in range(5001))
    assert (
        "at most 5000"
        in _refused("#stage,initial\n#dentition,permanent\nquantity,site,value\n" + rows, read_csv)[0]
    )


@pytest.mark.parametrize(
    ("text", "where", "says"),
    [
        (CSV.replace("11,11", "11,abc"), "line 4 (overjet 11)", "not a number"),
        (CSV.replace("11,11", '11,"3,5"'), "line 4 (overjet 11)", "not a number"),
        (CSV.replace("11,11", "11,3,5"), "line 4", "more cells than the header row"),
        (CSV.replace("11,11", "11,"), "line 4", "value is empty"),
        (CSV.replace(",caliper", ",guess"), "line 4 (overjet 11)", "allowed: caliper"),
        (CSV.replace("value,method", "value,examiner"), "line 3", 'column "examiner" is not known'),
        (CSV.replace("value,method", "value,value"), "line 3", "column value stands twice"),
        (CSV.replace("value,method", "method"), "line 3", "no column value"),
        (CSV.replace("initial", "later"), "stage", "allowed: initial"),
        (CSV.replace("initial", "initial,final"), "line 1", "takes one value"),
        ("#sheet,1\n#sheet,1\n" + CSV, "line 2", "stands twice"),
        ("#stage,final\n" + CSV, "line 2", "stands twice"),
        ("#wing,left\n" + CSV, "line 1", "is not known; allowed: #sheet"),
        ("#findings,1\n" + CSV, "line 1", "is not known"),
        ("#sheet,2\n" + CSV, "sheet", "must be the number 1"),
        ("#age_months,1.5\n" + CSV, "age_months", "whole number"),
        ("#age_months,²\n" + CSV, "age_months", "whole number"),
        ("#age_months," + "9" * 5000 + "\n" + CSV, "age_months", "whole number"),
        ("#teeth,\n" + CSV, "teeth", "empty list"),
        ("#teeth,11 19\n" + CSV, "teeth", "not an ISO 3950 tooth"),
        ("#stage,initial\n#dentition,permanent\n", "file", "no header row"),
        (CSV + 'overbite,11,"3\n', "line", "not readable as CSV"),
        (CSV.replace("#dentition,permanent\n", ""), "dentition", "is required"),
    ],
)
def test_a_faulty_csv_is_refused_with_line_and_reason(text: str, where: str, says: str) -> None:
    said = _refused(text, read_csv)
    assert len(said) == 1, said
    assert said[0].startswith(where)
    assert says in said[0]


def test_a_csv_cut_by_semicolons_is_told_so_once_and_not_row_by_row() -> None:
    said = _refused(
        CSV.replace(",", ";").replace("#stage;", "#stage,").replace("#dentition;", "#dentition,"), read_csv
    )
    assert [line.split(":")[0] for line in said] == ["line 3"] * 4
    assert "cells are separated by commas" in said[0]


@pytest.mark.parametrize(
    "text",
    [
        CSV.replace("\n", "\r\n"),
        CSV.replace("\n", "\r"),
        CSV.replace("\n", "\n\n"),
        CSV.replace("\n", " \n").replace(",", " , "),
        CSV.replace(",caliper", ",caliper,,"),
        CSV.replace("overjet,11,11", '"overjet","11","11"'),
        "#sheet,1\n#notation,iso3950\n" + CSV,
    ],
)
def test_harmless_differences_of_csv_writers_are_read_alike(text: str) -> None:
    assert read_csv(text) == read_csv(CSV)


def _value(key: str) -> str:
    quantity = QUANTITIES[key]
    if quantity.kind == "number":
        return str(quantity.maximum)
    return {"tooth": "17", "words": "short roots"}.get(quantity.kind) or quantity.codes[0]


SINGLE = {
    key: next(
        s
        for s in (*teeth.PERMANENT, *teeth.PRIMARY, "13-12", "16-15", "16.ml", *sites.REGIONS)
        if q.site.takes(s)
    )
    for key, q in QUANTITIES.items()
}
UNBOUND = ("overjet", "tooth_width", "crossbite", "rotation", "gap", "contact_offset")
FREE = [key for key in QUANTITIES if key in UNBOUND or (sites.width(SINGLE[key]) and key != "molar_beyond")]
NOTES = st.text(st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp")), max_size=40)


@st.composite
def _sheets(draw: st.DrawFn) -> Sheet:
    """Sheets of quantities that do not stand in each other's way."""
    findings = []
    for key in draw(st.lists(st.sampled_from(FREE), unique=True, max_size=12)):
        details: dict[str, Any] = {
            "method": draw(st.sampled_from(("", *METHODS))),
            "medium": draw(st.sampled_from(("", *MEDIA))),
            "note": "read behind " + draw(NOTES).strip() + ', "so"\nhere',
            "sd": draw(st.sampled_from(("", "0", "0.25"))),
        }
        site = "right" if key == "molar_substitute" else SINGLE[key]
        findings.append(Finding(key, site, _value(key), **details))
    return Sheet(
        stage=draw(st.sampled_from(STAGES)),
        dentition="permanent",
        findings=tuple(findings),
        teeth=draw(st.sampled_from(((), teeth.DEFAULT_PERMANENT, teeth.PERMANENT))),
        age_months=draw(st.one_of(st.none(), st.integers(0, 1500))),
        occlusion=draw(st.sampled_from(OCCLUSIONS)),
        medium=draw(st.sampled_from(("", *MEDIA))),
    )


@given(_sheets())
def test_what_is_written_is_read_back_the_same_in_both_formats(sheet: Sheet) -> None:
    assert check(sheet) == []
    assert read_json(write_json(sheet)) == sheet
    assert read_csv(write_csv(sheet)) == sheet


def test_blanks_round_a_text_are_lost_in_csv_only() -> None:
    sheet = Sheet("initial", "permanent", (Finding("habit", "mouth", "thumb", note=" at night "),))
    assert read_json(write_json(sheet)) == sheet
    assert read_csv(write_csv(sheet)).findings[0].note == "at night"


def test_a_written_file_has_the_keys_of_the_format_and_no_others() -> None:
    written = json.loads(write_json(read_json(_with(age_months=164, teeth=["11"]))))
    assert list(written) == [
        "sheet",
        "stage",
        "dentition",
        "age_months",
        "notation",
        "occlusion",
        "teeth",
        "findings",
    ]
    assert written["findings"] == [OVERJET]
    assert write_csv(read_csv(CSV)).splitlines()[-2:] == [",".join(FINDING_KEYS), "overjet,11,11,caliper,,,,"]


@given(st.permutations(json.loads(_with())["findings"] + [OVERJET | {"site": s} for s in ("12", "21", "22")]))
def test_a_file_read_in_another_order_holds_the_same_findings(entries: list[dict[str, str]]) -> None:
    sheet = read_json(_with(findings=entries))
    assert {f.site for f in sheet.findings} == {"11", "12", "21", "22"}
    assert sheet.at("overjet", "11") == Finding("overjet", "11", "11", method="caliper")


@given(st.one_of(st.text(), st.binary().map(lambda b: b.decode("latin-1"))))
def test_any_text_is_read_or_refused_and_never_breaks(text: str) -> None:
    for read in (read_json, read_csv):
        with pytest.raises(SheetRefused):
            read(text)


@given(
    st.dictionaries(
        st.sampled_from((*PLAIN, "teeth", "age_months", "medium")),
        st.recursive(
            st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(),
            lambda inner: st.lists(inner) | st.dictionaries(st.sampled_from(FINDING_KEYS), inner),
            max_leaves=12,
        ),
    )
)
def test_any_object_is_read_or_refused_and_never_breaks(data: dict[str, Any]) -> None:
    try:
        faults = check(read_json(json.dumps(PLAIN | data)))
    except SheetRefused as refused:
        faults = [] if refused.faults else [Fault("", "refused without a fault")]
    assert faults == []
