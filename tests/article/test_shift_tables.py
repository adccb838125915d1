"""Core shifts of families: their mean, how they scatter, which way blocks point."""

from __future__ import annotations

import math

import pytest

from workbench.article.shift_tables import family_table, scatter_table
from workbench.castings.bores.shift_of_family import FamilyShift, shift_of_family
from workbench.study import Study


@pytest.fixture(scope="module")
def demo(demo_study: Study) -> Study:
    return demo_study


@pytest.fixture(scope="module")
def families(demo: Study) -> list[FamilyShift]:
    shifts = demo.inspect().core_shifts()
    return [shift_of_family(shifts, name) for name in ("works", "trophy")]


def test_every_family_has_its_mean_shift(families: list[FamilyShift], demo: Study) -> None:
    table = family_table(families, demo.settings, 0.95)
    assert [row[:2] for row in table.rows] == [("Works", "48"), ("Trophy", "3")]
    across, along = families[0].blocks[["x", "y"]].mean()
    assert table.rows[0][2].startswith(f"{math.hypot(across, along):.3f} (")


def test_shares_of_the_scatter_add_up(families: list[FamilyShift], demo: Study) -> None:
    for row in scatter_table(families, demo.settings).rows:
        shares = [int(cell.split("(")[1].rstrip("%)")) for cell in row[1:4]]
        assert sum(shares) == pytest.approx(100, abs=1)


def test_too_few_blocks_to_point_anywhere_say_so_once(
    families: list[FamilyShift], demo: Study
) -> None:
    table = scatter_table(families, demo.settings)
    assert "Rayleigh p < 0.001" in table.rows[0][4]
    assert table.rows[1][4] == "too few blocks with a direction of their own"
    assert "numbers" not in table.note
