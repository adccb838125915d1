from __future__ import annotations

import pytest

HEADER = "block,family,quantity,value,unit,bore,station,repeat,measured_on,note\n"


def table(*rows: str) -> str:
    return HEADER + "".join(f"{row}\n" for row in rows)


def places(records) -> list[tuple[int | None, str, str]]:  # type: ignore[no-untyped-def]
    return [(fault.row, fault.column, fault.code) for fault in records.faults]


def test_a_row_written_twice(read) -> None:  # type: ignore[no-untyped-def]
    records = read(
        table(
            "B1,works,wall,5.20,mm,1,front,,,",
            "B1,works,wall,5.31,mm,1,rear,,,",
            "B1,works,wall,5.20,mm,1,front,,,",
            "B1,works,wall,5.20,mm,1,front,,,",
        )
    )
    assert places(records) == [(4, "", "duplicate_row"), (5, "", "duplicate_row")]
    assert "readings.csv, row 2" in records.faults[0].sentence
    assert records.cells["n"].tolist() == [1, 1]


@pytest.mark.parametrize(
    "second",
    [
        "B1,works,wall,5.20,mm,1,front,,,a note",
        "B1,works,wall,5.20,mm,1,front,,2026-01-02,",
        "B1,works,wall,5.20,mm,2,front,,,",
        "B1,works,wall,5.2,mm,1,front,,,",
        "B1,works,wall,5.20,mm,1,front,2,,",
    ],
)
def test_rows_that_differ_anywhere_are_two(read, second: str) -> None:  # type: ignore[no-untyped-def]
    records = read(table("B1,works,wall,5.20,mm,1,front,,,", second))
    assert records.faults == ()
    assert records.accepted == 2


def test_equal_readings_of_a_place_read_several_times_stay(read) -> None:  # type: ignore[no-untyped-def]
    records = read(
        table(
            "B1,works,wall,5.20,mm,1,front,,,",
            "B1,works,wall,5.20,mm,1,front,,,",
            "B1,works,wall,5.31,mm,1,front,,,",
            "B2,works,wall,5.20,mm,1,front,,,",
            "B2,works,wall,5.20,mm,1,front,,,",
            "B1,works,mass,120,kg,,,,,",
            "B1,works,mass,120,kg,,,,,",
        )
    )
    assert places(records) == [(8, "", "duplicate_row")]
    (notice,) = [notice for notice in records.notices if notice.code == "equal_rows"]
    assert notice.sentence.startswith("2 readings are equal")
    assert records.accepted == 6


def test_repeat_numbers_say_what_is_a_copy(read) -> None:  # type: ignore[no-untyped-def]
    records = read(
        table(
            "B1,works,wall,5.20,mm,1,front,1,,",
            "B1,works,wall,5.20,mm,1,front,2,,",
            "B1,works,wall,5.31,mm,1,front,3,,",
            "B1,works,wall,5.20,mm,1,front,2,,",
        )
    )
    assert places(records) == [(5, "", "duplicate_row")]
    assert records.accepted == 3


def test_one_repeat_number_with_two_values(read) -> None:  # type: ignore[no-untyped-def]
    records = read(
        table(
            "B1,works,wall,5.20,mm,1,front,1,,",
            "B1,works,wall,5.25,mm,1,front,1,,",
            "B1,works,wall,5.31,mm,1,front,2,,",
        )
    )
    assert places(records) == [(2, "repeat", "repeat_conflict"), (3, "repeat", "repeat_conflict")]
    assert records.accepted == 1


def test_a_block_in_two_families(read) -> None:  # type: ignore[no-untyped-def]
    records = read(
        table(
            "B1,trophy,wall,5.20,mm,1,front,,,",
            "B1,works,wall,5.21,mm,1,rear,,,",
            "B1,works,wall,5.22,mm,2,front,,,",
            "B2,trophy,wall,5.20,mm,1,front,,,",
            "B2,works,wall,5.21,mm,1,rear,,,",
        )
    )
    assert places(records) == [(2, "family", "block_family"), (6, "family", "block_family")]
    assert records.faults[0].value == "trophy"
    assert "of family “works”" in records.faults[0].sentence
    assert records.blocks[["block", "family"]].to_numpy().tolist() == [
        ["B2", "trophy"],
        ["B1", "works"],
    ]


def test_a_faulty_row_counts_for_nothing_between_rows(read) -> None:  # type: ignore[no-untyped-def]
    records = read(
        table(
            "B1,works,wall,x,mm,1,front,,,",
            "B1,works,wall,y,mm,1,front,,,",
            "B1,trophy,wall,5.20,mm,1,front,,,",
            "B1,trophy,wall,x,mm,1,front,,,",
        )
    )
    assert [fault.code for fault in records.faults] == ["not_a_number"] * 3
    assert records.blocks["family"].tolist() == ["trophy"]


MANY = table(
    "B1,works,wall,5.20,mm,1,front,,,",
    "B1,works,wall,5.20,mm,1,front,,,",
    "B1,works,wall,5.31,mm,1,front,,,",
    "B2,works,wall,5.20,mm,1,front,,,",
    "B2,works,wall,5.20,mm,1,front,,,",
    "B2,trophy,wall,5.20,mm,1,rear,,,",
    "B1,works,mass,120,kg,,,,,",
    "B1,works,mass,120,kg,,,,,",
    "B3,works,wall,5.2,mm,1,front,1,,",
    "B3,works,wall,5.3,mm,1,front,1,,",
    "B3,works,wall,5.4,mm,1,front,2,,",
    "B3,works,wall,5.4,mm,1,front,2,,=a note",
    "B3,works,wall,5.4,mm,1,=front,3,,",
    "B3,works,wall,5.4,mm,1,fr\u200bont,4,,",
    *(f"B4,works,wall,5.{at},mm,1,front,{at},," for at in range(10, 30)),
)


@pytest.mark.parametrize("rows_at_once", [1, 3, 20])
def test_many_rows_are_judged_as_few(read, monkeypatch, rows_at_once: int) -> None:  # type: ignore[no-untyped-def]
    at_once = read(MANY)
    monkeypatch.setattr("workbench.records.places.ROWS_AT_ONCE", rows_at_once)
    monkeypatch.setattr("workbench.records.known.WORDS_HELD", rows_at_once)
    in_parts = read(MANY)
    assert {code for _, _, code in places(at_once)} == {
        *("duplicate_row", "repeat_conflict", "block_family", "formula", "hidden_character")
    }
    assert in_parts.faults == at_once.faults
    assert in_parts.notices == at_once.notices
    assert in_parts.cells.equals(at_once.cells)
