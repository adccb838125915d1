"""Readings where nothing was kept: faults with the reason, wherever and however written."""

from __future__ import annotations

import pytest

HEAD = "block,family,quantity,value,unit,gauge,bore"
BLANK = """
[[truncation]]
quantity = "wall_thickness"
kept_from = 1.5
unit = "mm"
note = "the display stays blank {under} 1.5"
"""


def written(*rows: str) -> str:
    return "\n".join([HEAD, *(f"{row},{at}" for at, row in enumerate(rows))]) + "\n"


def walls(*values: str, unit: str = "mm", family: str = "works", gauge: str = "ug1") -> str:
    return written(*(f"B1,{family},wall_thickness,{v},{unit},{gauge}" for v in values))


def noticed(records) -> list[object]:
    return [notice for notice in records.notices if notice.code.startswith("truncation")]


def rejected(records) -> list[str]:
    return [fault.value for fault in records.faults if fault.code == "not_kept"]


def test_a_reading_outside_is_a_fault_with_the_reason(read) -> None:
    records = read(walls("1.49", "1.50", "1.51", "1.5"), settings=BLANK)
    (fault,) = records.faults
    assert (fault.file, fault.row, fault.column) == ("readings.csv", 2, "value")
    assert (fault.value, fault.code) == ("1.49", "not_kept")
    assert fault.sentence == (
        "study.toml states that no reading below 1.5 mm was kept (the display stays blank {under} "
        "1.5); the reading, or the entry in [[truncation]], is wrong."
    )
    assert (records.rows_in, records.accepted, records.rejected) == (4, 3, 1)


@pytest.mark.parametrize(
    ("unit", "values", "outside"),
    [
        ("in", ("0.0590", "0.0591"), ["0.0590"]),
        ("um", ("1499", "1500"), ["1499"]),
        ("mil", ("59", "59.1"), ["59"]),
        ("cm", ("0.149", "0.15"), ["0.149"]),
    ],
)
def test_the_limit_holds_in_whatever_unit_a_reading_is_written(read, unit, values, outside) -> None:
    assert rejected(read(walls(*values, unit=unit), settings=BLANK)) == outside


def test_a_reading_known_only_from_above_needs_room(read) -> None:
    records = read(walls("<1.40", "<1.50", "<1.51"), settings=BLANK)
    assert rejected(records) == ["<1.40", "<1.50"]


def test_an_upper_end_and_both(read) -> None:
    upper = BLANK.replace("kept_from = 1.5", "kept_to = 9")
    assert rejected(read(walls("1.2", "9.0", "9.1"), settings=upper)) == ["9.1"]
    both = BLANK.replace("kept_from = 1.5", "kept_from = 1.5\nkept_to = 9")
    assert rejected(read(walls("1.2", "9.0", "9.1"), settings=both)) == ["1.2", "9.1"]


def test_a_limit_above_all_readings_rejects_them_all(read) -> None:
    records = read(walls("1.2", "1.3"), settings=BLANK)
    assert (records.accepted, records.rejected) == (0, 2)
    assert [notice.code for notice in noticed(records)] == ["truncation_unused"]


def test_only_readings_it_is_stated_of(read) -> None:
    rows = [
        "B1,works,wall_thickness,1.2,mm,ug1",
        "B1,works,wall_thickness,1.2,mm,ug2",
        "B2,trophy,wall_thickness,1.2,mm,ug1",
        "B1,works,deck_thickness,1.2,mm,ug1",
    ]
    by_gauge = read(written(*rows), settings=BLANK + 'gauge = "ug1"\n')
    assert [fault.row for fault in by_gauge.faults] == [2, 4]
    by_family = read(written(*rows), settings=BLANK + 'family = "works"\n')
    assert [fault.row for fault in by_family.faults] == [2, 3]


def test_of_sorted_blocks_no_reading_is_a_fault(read) -> None:
    """Somebody else sorted them, with a gauge of his own; ours may show a little less."""
    records = read(walls("1.49", "1.50"), settings=BLANK + 'of = "blocks"\n')
    assert records.rejected == 0
    (notice,) = noticed(records)
    assert "blocks with a reading below 1.5 mm were sorted out" in notice.sentence
    assert "; left: 2 readings of 1 block. " in notice.sentence
    assert notice.sentence.endswith("1 of these lie beyond that all the same.")


def test_a_notice_says_what_was_not_kept_and_what_is_left(read) -> None:
    rows = ["B1,works,wall_thickness,1.9,mm,ug1", "B2,works,wall_thickness,2.2,mm,ug1"]
    records = read(written(*rows), settings=BLANK)
    (notice,) = noticed(records)
    assert notice.file == "study.toml"
    assert notice.sentence == (
        "Wall thickness of every family: no reading below 1.5 mm was kept (the display stays blank "
        "{under} 1.5); left: 2 readings of 2 blocks."
    )


@pytest.mark.parametrize(("key", "meant"), [("family", "works"), ("gauge", "ug1")])
def test_an_entry_of_nothing_says_so_and_which_name_was_meant(read, key, meant) -> None:
    records = read(walls("1.9"), settings=BLANK + f'{key} = "{meant}x"\n')
    (notice,) = [one for one in records.notices if one.code == "truncation_unused"]
    assert f"did you mean “{meant}”" in notice.sentence
    assert "truncation[1] concerns no accepted reading" in notice.sentence


def test_a_quantity_of_ones_own_and_impressions(read) -> None:
    own = '[quantities.rake]\nunit = "grad"\n' + BLANK.replace("wall_thickness", "rake").replace(
        '"mm"', '"grad"'
    )
    rows = ["B1,works,rake,1.4,grad,", "B1,works,rake,1.6,grad,"]
    assert rejected(read(written(*rows), settings=own)) == ["1.4"]
    pressed = (
        '[gauges.bt1.impression]\nload = 3000\nload_unit = "kgf"\nball = 10\n'
        '[[truncation]]\nquantity = "hardness"\nkept_to = 229\nunit = "HB"\nnote = "x"\n'
    )
    rows = ["B1,works,hardness,3.90,mm,bt1", "B1,works,hardness,4.10,mm,bt1"]
    assert rejected(read(written(*rows), settings=pressed)) == ["3.90"]  # 241 HB, and 217 HB
