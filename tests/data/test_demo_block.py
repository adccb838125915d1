"""One block of the demo worked out again: by statsmodels, a saddle system, a fine grid."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm

from workbench.castings.block_report import block_report
from workbench.castings.bores.wall_map import wall_map
from workbench.castings.bores.wall_model import lay_out
from workbench.castings.inspection import Inspection
from workbench.castings.places import WALL
from workbench.study import Study


@pytest.fixture(scope="module")
def demo(shipped_study: Callable[[str], Study]) -> Inspection:
    return shipped_study("demo").inspect()


def test_the_shift_of_a_whole_bore_is_the_regression_of_its_walls(demo: Inspection) -> None:
    """Bore 3 of W05, every place read once: OLS on depths, -cos and -sin (statsmodels)."""
    places = demo.of(WALL).round_bores
    own = places[(places["block"] == "W05") & (places["bore"] == "3")]
    assert (len(own), own["n"].max()) == (12, 1)
    turn = np.radians(own["angle"].to_numpy(float))
    columns = np.column_stack(
        [pd.get_dummies(own["depth"]).to_numpy(float), -np.cos(turn), -np.sin(turn)]
    )
    known = sm.OLS(own["mean"].to_numpy(float), columns).fit()
    found = demo.core_shifts().bore("W05", "3")
    assert (found.x, found.y) == pytest.approx(known.params[-2:], abs=2e-4)
    unscaled = np.linalg.inv(columns.T @ columns)[-1, -1]
    scatter = demo.core_shifts().scatter["works"]
    three_depths = scatter.variance * (1 + 2 * scatter.along)
    assert math.sqrt(found.vyy) == pytest.approx(math.sqrt(three_depths * unscaled), rel=1e-6)


def test_the_map_solves_the_saddle_system_of_universal_kriging(demo: Inspection) -> None:
    """Cressie, Statistics for Spatial Data (1993), section 3.4, from memory: [K F; F' 0]."""
    model, places = demo.wall_model("works"), demo.of(WALL).round_bores
    found = wall_map(demo.of(WALL), model, "W05", "1")
    own = places[(places["block"] == "W05") & (places["bore"] == "1")]
    (laid,) = lay_out(own, model.reading_variance, model.shapes)
    sheet, rough = laid.sheet, model.surface

    def near(distance: np.ndarray) -> np.ndarray:
        return (1 + math.sqrt(3) * distance) * np.exp(-math.sqrt(3) * distance)

    def covariance(turn: np.ndarray, down: np.ndarray) -> np.ndarray:
        chord = np.abs(np.sin(np.radians(sheet.degrees[:, None] - turn) / 2))
        chord = chord / math.sin(math.radians(rough.turn) / 2)
        apart = np.abs(sheet.levels[:, None] - down) / rough.reach
        return rough.variance * near(chord) * near(apart)

    def free(turn: np.ndarray, down: np.ndarray) -> np.ndarray:
        own = np.column_stack([np.ones(turn.size), np.cos(np.radians(turn))])
        own = np.column_stack([own, np.sin(np.radians(turn))])
        return np.hstack([own, own * (down - 60.0)[:, None]])

    whole = covariance(sheet.degrees, sheet.levels) + np.diag(sheet.noise)
    basis = free(sheet.degrees, sheet.levels)
    saddle = np.block([[whole, basis], [basis.T, np.zeros((6, 6))]])
    for row, column in ((0, 0), (10, 35), (12, 60), (24, 7)):
        turn, down = found.degrees[[column]], found.down[[row]]
        right = np.concatenate([covariance(turn, down)[:, 0], free(turn, down)[0]])
        weights = np.linalg.solve(saddle, right)
        wall = weights[: sheet.values.size] @ sheet.values + laid.shape(turn, down)[0]
        assert found.wall[row, column] == pytest.approx(wall, abs=1e-6)
        error = math.sqrt(rough.variance - weights @ right)
        assert found.standard_error[row, column] == pytest.approx(error, abs=1e-6)


def test_no_offset_of_a_fine_grid_gives_a_bore_more_room(demo: Inspection) -> None:
    room = block_report(demo, "W05", generator=np.random.default_rng(5)).boring["high_power"]
    axis = np.linspace(-0.2, 0.2, 201)
    x, y = (part.ravel() for part in np.meshgrid(axis, axis))
    inside = np.hypot(x, y) <= 0.2
    x, y = x[inside], y[inside]
    for own in room.rooms.values():
        turn = np.radians(own.degrees)
        cut = (own.safe - np.outer(x, np.cos(turn)) - np.outer(y, np.sin(turn))).min(axis=1)
        best = cut[np.hypot(x, y) <= cut - 0.05].max()
        found = own.largest_cut(0.2, 0.05).cut
        assert best <= found + 1e-9
        assert found <= best + 0.003  # the grid's half diagonal
