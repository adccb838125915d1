"""Each reason a row is rejected for, with the exact place it is reported at."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from functools import cache
from pathlib import Path

import openpyxl
import pytest

from workbench.records.codes import CODES, REJECTED
from workbench.records.intake import read_records
from workbench.records.rules import row_rules
from workbench.records.settings import load_settings
from workbench.records.store import Records

COLUMNS = (
    "block",
    "family",
    "quantity",
    "value",
    "unit",
    "bore",
    "station",
    "depth",
    "gauge",
    "calibration",
    "operator",
    "sampling",
    "repeat",
    "contact",
    "measured_on",
    "note",
)
SOUND = dict.fromkeys(COLUMNS, "") | {
    "block": "B1",
    "family": "works",
    "quantity": "wall_thickness",
    "value": "5.20",
    "unit": "mm",
}
DRAWING = """
[drawing]
bores = 4
[drawing.stations]
front = 0
thrust = 90
[gauges.ug1]
kind = "ultrasonic"
[quantities.offset]
unit = "mm"
signed = true
[quantities.ring]
unit = "Hz"
[quantities.web_there]
kind = "feature"
[gauges.lt1]
kind = "rebound"
[gauges.bt1]
kind = "brinell"
[gauges.bt1.impression]
load = 29420
ball = 10
"""

CASES = [
    *((name, "", "missing") for name in ("block", "family", "quantity", "value", "unit")),
    ("block", " \u00a0 ", "missing"),
    ("value", "=5.2+0.1", "formula"),
    ("block", "=cmd", "formula"),
    ("gauge", "#error", "cell_error"),
    ("block", "B\x07", "hidden_character"),
    ("operator", "nor\u200bth", "hidden_character"),
    ("gauge", "u\u202eg1", "hidden_character"),
    ("depth", "t\top", "hidden_character"),
    ("block", "B" * 101, "too_long"),
    ("depth", "s" * 101, "too_long"),
    ("note", "n" * 2001, "too_long"),
    ("note", "n" * 1_000_000, "too_long"),
    ("value", "abc", "not_a_number"),
    ("value", "5.2 mm", "not_a_number"),
    ("value", "1_000", "not_a_number"),
    ("value", "NaN", "not_finite"),
    ("value", "-inf", "not_finite"),
    ("value", "10000.01", "too_large"),
    ("value", "1e30", "too_large"),
    ("value", "9" * 60, "too_large"),
    ("value", "0", "not_positive"),
    ("value", "-5.2", "not_positive"),
    ("value", "0.0000001", "not_positive"),
    ("quantity", "wal_thickness", "unknown_quantity"),
    ("unit", "furlong", "unknown_unit"),
    ("unit", "kg", "unit_mismatch"),
    ("unit", "HB", "unit_mismatch"),
    ("sampling", "random", "unknown_sampling"),
    ("contact", "wet", "unknown_contact"),
    ("station", "left", "unknown_station"),
    ("station", "361", "unknown_station"),
    ("gauge", "ug9", "unknown_gauge"),
    ("gauge", "UG1", "unknown_gauge"),
    ("bore", "5", "unknown_bore"),
    ("bore", "0", "unknown_bore"),
    ("bore", "99999999999999999999", "unknown_bore"),
]
MEANT = {"impression_unstated", "impression_ratio", "converted_scale", "unknown_grade"}


def table(*changes: dict[str, str]) -> str:
    """Write rows that differ from a sound one in the cells given, each for another block."""
    lines = [";".join(COLUMNS)]
    for at, change in enumerate(changes):
        row = SOUND | {"block": f"A{at}"} | change
        lines.append(";".join('"' + cell.replace('"', '""') + '"' for cell in row.values()))
    return "\n".join(lines) + "\n"


@pytest.fixture(scope="module")
def read_once(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Records]:
    """Give a reader of tables; one that several tests ask for is read the first time only."""

    @cache
    def reader(text: str) -> Records:
        folder = tmp_path_factory.mktemp("study")
        (folder / "study.toml").write_text('title = "x"' + DRAWING, encoding="utf-8")
        (folder / "readings.csv").write_text(text, encoding="utf-8")
        return read_records(folder, load_settings(folder))

    return reader


ODD = {"formula", "cell_error", "hidden_character", "too_long"}


def dealt() -> list[list[tuple[str, str, str]]]:
    """Deal the cases to three tables, so that no column of a table holds two odd words.

    A column that holds one is looked at closely throughout; a second would hide that it was missed.
    """
    tables: list[list[tuple[str, str, str]]] = [[], [], []]
    met: Counter[str] = Counter()
    for column, value, code in CASES:
        tables[met[column] if code in ODD else 0].append((column, value, code))
        met[column] += code in ODD
    return tables


@pytest.mark.parametrize(
    ("cases", "at"), [(cases, at) for cases in dealt() for at in range(len(cases))]
)
def test_each_fault_at_its_place(
    read_once: Callable[[str], Records], cases: list[tuple[str, str, str]], at: int
) -> None:
    rows = [{}, {"value": "5.2"}, *({column: value} for column, value, _ in cases), {}]
    records = read_once(table(*rows).replace(";", ","))
    column, value, code = cases[at]
    (fault,) = (fault for fault in records.faults if fault.row == 4 + at)
    assert (fault.file, fault.column, fault.code) == ("readings.csv", column, code)
    assert fault.value == value.strip()
    assert (records.rows_in, records.accepted, records.rejected) == (len(rows), 3, len(cases))
    found = records.rejected_rows()
    assert found[found["row"] == 4 + at].to_dict("records") == [
        {
            "file": "readings.csv",
            "row": 4 + at,
            "column": column,
            "value": value.strip(),
            "code": code,
            "sentence": fault.sentence,
        }
    ]
    assert "{" not in fault.sentence


def test_every_rule_is_among_the_cases_and_in_the_list_of_codes(folder: Path) -> None:
    (folder / "study.toml").write_text('title = "x"' + DRAWING, encoding="utf-8")
    codes = [rule.code for rule in row_rules(load_settings(folder))]
    assert len(codes) == len(set(codes))
    elsewhere = {"open_quote", "ambiguous_number", *MEANT}
    assert {code for _, _, code in CASES} | elsewhere == set(codes)
    assert all(CODES[code][0] == REJECTED for code in codes)


HARDNESS = [
    ({"value": "2.39", "gauge": "bt1"}, "value", "impression_ratio"),
    ({"value": "6.01", "gauge": "bt1"}, "value", "impression_ratio"),
    ({"value": "0.3", "unit": "in", "gauge": "bt1"}, "value", "impression_ratio"),
    ({"value": "-4", "gauge": "bt1"}, "value", "not_positive"),
    ({"value": "<4.00", "gauge": "bt1"}, "value", "not_a_number"),
    ({"value": "4.00", "gauge": "ug1"}, "unit", "impression_unstated"),
    ({"value": "4.00"}, "unit", "impression_unstated"),
    ({"value": "210", "unit": "HB", "gauge": "lt1"}, "unit", "converted_scale"),
    ({"value": "22", "unit": "HRC", "gauge": "lt1"}, "unit", "converted_scale"),
    ({"value": "22", "unit": "kg", "gauge": "lt1"}, "unit", "unit_mismatch"),
]


@pytest.mark.parametrize("at", range(len(HARDNESS)))
def test_hardness_that_cannot_be_taken(read_once: Callable[[str], Records], at: int) -> None:
    """The limits 0.24 D and 0.60 D: ISO 6506-1, from memory."""
    kept = {"quantity": "hardness", "gauge": "bt1", "value": "4.00"}
    rows = [{"quantity": "hardness"} | change for change, _, _ in HARDNESS]
    records = read_once(table(kept, *rows).replace(";", ","))
    found = [(fault.column, fault.code) for fault in records.faults if fault.row == 3 + at]
    assert found == [HARDNESS[at][1:]]
    assert records.accepted == 1


FEATURES = [
    ("perhaps", "", "value", "unknown_grade"),
    ("2", "", "value", "unknown_grade"),
    ("<1", "", "value", "unknown_grade"),
    ("=yes", "", "value", "formula"),
    ("", "", "value", "missing"),
    ("yes", "mm", "unit", "unit_mismatch"),
    ("yes", "eyes", "unit", "unit_mismatch"),
]


@pytest.mark.parametrize("at", range(len(FEATURES)))
def test_features_that_are_not_seen(read_once: Callable[[str], Records], at: int) -> None:
    seen = {"quantity": "web_there", "value": "yes", "unit": ""}
    rows = [seen | {"value": value, "unit": unit} for value, unit, _, _ in FEATURES]
    records = read_once(table(seen, *rows))
    found = [(fault.column, fault.code) for fault in records.faults if fault.row == 3 + at]
    assert found == [FEATURES[at][2:]]
    assert records.accepted == 1


def test_all_faults_of_a_row_at_once(read) -> None:  # type: ignore[no-untyped-def]
    bad = {"family": "", "quantity": "walls", "value": "x", "unit": "y", "contact": "z"}
    records = read(table({}, bad, {}))
    assert [(fault.row, fault.column, fault.code) for fault in records.faults] == [
        (3, "family", "missing"),
        (3, "value", "not_a_number"),
        (3, "quantity", "unknown_quantity"),
        (3, "unit", "unknown_unit"),
        (3, "contact", "unknown_contact"),
    ]
    assert (records.accepted, records.rejected, records.fault_count) == (2, 1, 5)


def test_hints(read) -> None:  # type: ignore[no-untyped-def]
    records = read(
        table({"quantity": "wal-thickness"}, {"sampling": "serch"}, {"station": "thrst"}),
        settings=DRAWING,
    )
    said = [fault.sentence for fault in records.faults]
    assert "did you mean “wall_thickness”?" in said[0]
    assert "did you mean “search”?" in said[1]
    assert "did you mean “thrust”?" in said[2]


NO_FAULTS = [
    {"quantity": "Wall Thickness"},
    {"quantity": "wall"},
    {"quantity": "WEIGHT", "unit": "lbs"},
    {"unit": "Inch"},
    {"quantity": "offset", "value": "-0.2"},
    {"quantity": "offset", "value": "0"},
    {"quantity": "ring", "unit": "Hz", "value": "-1200000"},
    {"sampling": "Search"},
    {"contact": "ok"},
    {"station": "THRUST"},
    {"station": "45°"},
    {"station": "left", "quantity": "deck_thickness"},
    {"bore": "front one"},
    {"bore": "04"},
    {"value": "10000"},
    {"value": "0.000001"},
    {"note": "n" * 2000},
    {"note": "=not a formula, a note"},
    {"note": "two\nlines, with a comma"},
    {"block": "é" * 100},
    {"block": "<script>alert(1)</script>"},
    {"block": "'; drop table raw; --"},
    {"block": "#12"},
]


@pytest.mark.parametrize("at", range(len(NO_FAULTS)))
def test_what_is_no_fault(read_once: Callable[[str], Records], at: int) -> None:
    records = read_once(table({}, *NO_FAULTS))
    assert [fault for fault in records.faults if fault.row == 3 + at] == []
    assert records.fault_count == 0
    assert records.accepted == records.rows_in == 1 + len(NO_FAULTS)


def test_a_user_unit_must_be_written_as_declared(read) -> None:  # type: ignore[no-untyped-def]
    records = read(
        table({"quantity": "ring", "unit": "mm"}, {"quantity": "ring", "unit": "kHz"}),
        settings=DRAWING,
    )
    assert [fault.code for fault in records.faults] == ["unit_mismatch", "unit_mismatch"]


def test_rows_of_another_length(read) -> None:  # type: ignore[no-untyped-def]
    text = table({}, {}) + "B9;works\n" + table({}).splitlines()[1] + ";\n"
    records = read(text)
    assert [(fault.row, fault.code, fault.value[:8]) for fault in records.faults] == [
        (4, "ragged_row", "B9;works"),
        (5, "ragged_row", '"A0";"wo'),
    ]
    assert (records.rows_in, records.accepted, records.rejected) == (4, 2, 2)


def test_an_unclosed_quotation_mark(read) -> None:  # type: ignore[no-untyped-def]
    """The rows it swallows are not lost silently."""
    lines = table({}, {}, {}, {}, {}).replace('"', "").splitlines()
    lines[2] += '"3 chips'
    records = read("\n".join(lines) + "\n")
    (fault,) = records.faults
    assert (fault.row, fault.column, fault.code) == (3, "note", "open_quote")
    assert (records.rows_in, records.accepted) == (2, 1)


def test_a_number_that_can_be_read_two_ways(read) -> None:  # type: ignore[no-untyped-def]
    text = table({"value": "1"}, {"value": "1,234"}).replace(";", "\t")
    (fault,) = read(text).faults
    assert (fault.row, fault.column, fault.value, fault.code) == (
        3,
        "value",
        "1,234",
        "ambiguous_number",
    )
    for mark, steps in ((",", [(0.001, 1000), (0.001, 1234)]), (".", [(1, 1), (1, 1234)])):
        records = read(text, settings=f"[readings]\ndecimal = '{mark}'\n")
        assert records.faults == ()
        found = records.values("wall_thickness")
        assert list(zip(found["step"], found["k"], strict=True)) == steps


def test_a_workbook_with_formulas(read, folder: Path) -> None:  # type: ignore[no-untyped-def]
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.append(["block", "family", "quantity", "value", "unit"])
    page.append(["B1", "works", "mass", 120.5, "kg"])
    page.append(["B2", "works", "mass", "=SUM(D2:D2)", "kg"])
    page.append([3, "works", "mass", 121, "kg"])
    book.save(folder / "readings.xlsx")
    records = read()
    (fault,) = records.faults
    assert (fault.file, fault.row, fault.column, fault.code, fault.value) == (
        "readings.xlsx",
        3,
        "value",
        "formula",
        "=SUM(D2:D2)",
    )
    assert sorted(records.blocks["block"]) == ["3", "B1"]
