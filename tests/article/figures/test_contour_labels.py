"""Numbers of lines stand clear of what is written beside them."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.path import Path

from workbench.article.figures.contour_labels import clear_spots

ACROSS, DOWN = (0.0, 360.0), (115.0, 15.0)
LEVEL = Path(np.column_stack([np.linspace(0, 360, 73), np.full(73, 65.0)]))
NOTHING = np.empty((0, 2))


def test_a_line_alone_is_numbered_in_its_middle_and_not_at_an_edge() -> None:
    ((across, down),) = clear_spots([LEVEL], NOTHING, ACROSS, DOWN)
    assert 90 <= across <= 270
    assert down == 65.0


@pytest.mark.parametrize("written", [90.0, 180.0, 270.0])
def test_a_number_keeps_away_from_a_value_on_its_line(written: float) -> None:
    ((across, _),) = clear_spots([LEVEL], np.array([[written, 65.0]]), ACROSS, DOWN)
    assert abs(across - written) >= 60
    assert 30 <= across <= 330


def test_numbers_of_lines_side_by_side_keep_away_from_each_other() -> None:
    below = Path(np.asarray(LEVEL.vertices) + np.array([0.0, 2.0]))
    (first, _), (second, _) = clear_spots([LEVEL, below], NOTHING, ACROSS, DOWN)
    assert abs(first - second) >= 60


def test_turning_the_map_about_turns_the_numbers_with_it() -> None:
    taken = np.array([[100.0, 65.0]])
    ((across, _),) = clear_spots([LEVEL], taken, ACROSS, DOWN)
    ((turned, _),) = clear_spots([LEVEL], [[360.0, 130.0]] - taken, ACROSS, DOWN)
    assert turned == pytest.approx(360 - across, abs=5)


def test_a_level_without_a_line_has_no_number() -> None:
    assert clear_spots([Path(NOTHING)], NOTHING, ACROSS, DOWN) == []
