from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from workbench.article.block_tables import bore_room_table, boring_table, fitness_table
from workbench.article.sheet_tables import (
    SIZES,
    bore_room_on_sheet,
    boring_on_sheet,
    fitness_on_sheet,
)
from workbench.castings.block_report import BlockReport, block_report
from workbench.study import open_study


@pytest.fixture
def report(bored_study: Callable[..., Path], tmp_path: Path) -> Callable[..., BlockReport]:
    def make(**given: object) -> BlockReport:
        inspection = open_study(bored_study(tmp_path, **given)).inspect()
        return block_report(inspection, "W01", generator=np.random.default_rng(1))

    return make


def test_every_limit_stands_beside_its_rule(report: Callable[..., BlockReport]) -> None:
    of = report()
    whole, sheet = fitness_table(of), fitness_on_sheet(of)
    assert sheet.columns == ("duty", "rule", "found", "margin", "risk", "outcome")
    assert len(sheet.rows) == len(whole.rows) > 0
    for full, short in zip(whole.rows, sheet.rows, strict=True):
        assert short[1] == f"{full[1]} {full[3].rsplit(' or ', 1)[0]}"
        assert (short[0], *short[2:]) == (full[0], full[2], *full[4:])


def test_each_duty_has_its_room_and_a_word_on_each_oversize(
    report: Callable[..., BlockReport],
) -> None:
    of = report()
    sheet = boring_on_sheet(of)
    assert [row[0] for row in sheet.rows] == [row[0] for row in boring_table(of).rows]
    first = next(iter(of.boring.values()))
    assert len(sheet.columns) == 5 + len(first.sizes)
    for row, found in zip(sheet.rows, of.boring.values(), strict=True):
        for said, size in zip(row[5:], found.sizes, strict=True):
            known = {"fits": "fits", "does_not_fit": "does not fit", "too_close": "too close ("}
            assert said.startswith(known[size.outcome])
            assert ("does not clean up" in said) == (not size.cleans_up)
    many = {
        name: replace(found, sizes=(found.sizes[0],) * (SIZES + 1))
        for name, found in of.boring.items()
    }
    longer = boring_on_sheet(replace(of, boring=many))
    assert len(longer.columns) == 5 + SIZES
    assert "Further oversizes" in longer.note


def test_a_wall_short_already_says_by_how_much(report: Callable[..., BlockReport]) -> None:
    of = report()
    short = {name: replace(found, one_size=-0.5) for name, found in of.boring.items()}
    assert boring_on_sheet(replace(of, boring=short)).rows[0][2] == "0.25 mm short"


def test_the_bores_name_their_duty_below(report: Callable[..., BlockReport]) -> None:
    of = report()
    sheet = bore_room_on_sheet(of)
    assert sheet.rows == bore_room_table(of).rows
    assert sheet.caption == "Each bore by itself"
    assert sheet.note.startswith("For the duty “")


def test_what_is_not_answered_says_why(report: Callable[..., BlockReport]) -> None:
    of = report(stations={"front": 0, "thrust": 90})
    sheet = boring_on_sheet(of)
    assert sheet.rows == ()
    assert sheet.note.startswith("Not answered.")
    assert "three angles" in sheet.note
    assert bore_room_on_sheet(of).note == "Not answered."
