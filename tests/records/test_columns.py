from __future__ import annotations

import pytest

from workbench.records.columns import (
    BLOCKS,
    CALIBRATIONS,
    READINGS,
    column_of,
    did_you_mean,
    names,
    plain,
    synonym_table,
)


def test_the_columns_of_the_study_format() -> None:
    """The names other tools write: the required ones first."""
    assert [column.name for column in READINGS if column.required] == [
        "block",
        "family",
        "quantity",
        "value",
        "unit",
    ]
    assert set(names(READINGS)) >= {
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
    }


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("Block", "block"),
        (" VALUE ", "value"),
        ("Measured On", "measured_on"),
        ("measured-on", "measured_on"),
        ("Cyl.", "bore"),
        ("Cylinder No", "bore"),
        ("Gage", "gauge"),
        ("Remarks", "note"),
        ("thickness of the third kind", None),
        ("", None),
    ],
)
def test_headings(heading: str, column: str | None) -> None:
    assert column_of(heading, READINGS) == column


@pytest.mark.parametrize("columns", [READINGS, BLOCKS, CALIBRATIONS])
def test_no_heading_stands_for_two_columns(columns: tuple) -> None:  # type: ignore[type-arg]
    headings = [name for column in columns for name in (column.name, *column.synonyms)]
    assert len(headings) == len(set(headings))
    assert headings == [plain(heading) for heading in headings]


@pytest.mark.parametrize("columns", [READINGS, BLOCKS, CALIBRATIONS])
def test_the_table_shows_every_heading(columns: tuple) -> None:  # type: ignore[type-arg]
    table = synonym_table(columns)
    for column in columns:
        assert f"| `{column.name}` |" in table
        assert all(f"`{name}`" in table for name in column.synonyms)


def test_hints_are_for_close_words_only() -> None:
    assert did_you_mean("wal thickness", ("wall_thickness", "mass")) == (
        " (did you mean “wall_thickness”?)"
    )
    assert did_you_mean("zebra", ("wall_thickness", "mass")) == ""
    assert did_you_mean("x" * 100_000, ("x",)) == ""
