"""Places of one angle that are alike down a bore: one deviation each, as in a nested analysis."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from scipy.stats import f as f_distribution

from workbench.castings.bores.core_shift import CoreShifts, core_shifts
from workbench.castings.places import Places

FOUR = (0, 90, 180, 270)
FIVE = (0, 55, 110, 200, 300)
DEPTHS = ("10", "60", "110")


def planted(
    rng: np.random.Generator,
    *,
    alike: float,
    angles: tuple[int, ...] = FOUR,
    blocks: int = 8,
    missing: float = 0.0,
) -> tuple[list[dict[str, object]], dict[tuple[str, str], np.ndarray]]:
    """Give rows of bores with shifts of their own, and these shifts.

    Places lie off by 0.08 mm, of which the share `alike` is common to the depths of an angle.
    """
    rows: list[dict[str, object]] = []
    truth = {}
    for block in range(blocks):
        for bore in "1234":
            shift = rng.normal(0, 0.15, 2)
            truth[f"W{block}", bore] = shift
            for angle in angles:
                turn = np.radians(angle)
                wall = 4.6 - shift[0] * np.cos(turn) - shift[1] * np.sin(turn)
                wall += rng.normal(0, 0.08 * alike**0.5)
                for depth in DEPTHS:
                    if rng.random() < missing:
                        continue
                    mean = wall + rng.normal(0, 0.08 * (1 - alike) ** 0.5)
                    place = {"block": f"W{block}", "bore": bore, "depth": depth}
                    rows.append({**place, "station": f"{angle}", "mean": mean, "step": 1e-4})
    return rows, truth


def kept(shifts: CoreShifts, truth: dict[tuple[str, str], np.ndarray]) -> list[bool]:
    """Tell for each bore whether its 95 % region holds the planted shift."""
    answer = []
    for (block, bore), shift in truth.items():
        found = shifts.bore(block, bore)
        covariance = np.array([[found.vxx, found.vxy], [found.vxy, found.vyy]])
        off = np.array([found.x, found.y]) - shift
        bound = f_distribution.ppf(0.95, 2, found.degrees_of_freedom)
        answer.append(float(off @ np.linalg.solve(covariance, off)) / 2 <= bound)
    return answer


@pytest.mark.parametrize("angles", [FOUR, FIVE])
@pytest.mark.parametrize("alike", [0.0, 0.5, 0.9])
def test_regions_of_bores_cover_however_alike_depths_are(
    alike: float, angles: tuple[int, ...], walls: Callable[..., Places]
) -> None:
    """With depths taken as independent 62 to 79 of 100 regions held at 0.5 and 0.9."""
    rng = np.random.default_rng(3)
    held: list[bool] = []
    for _ in range(8):
        rows, truth = planted(rng, alike=alike, angles=angles)
        held += kept(core_shifts(walls(rows)), truth)
    assert np.mean(held) >= 0.91
    assert np.mean(held) <= 0.995


def test_variance_of_a_bore_is_the_mean_square_between_its_angles(
    walls: Callable[..., Places],
) -> None:
    """Witness: statsmodels, a harmonic through the angle means of each bore, weights 3.

    For whole grids the residuals of these fits, pooled, are the mean square of angles in the nested
    table; less what all bores show alike, which is taken off first.
    """
    rows, _ = planted(np.random.default_rng(5), alike=0.7)
    frame = pd.DataFrame(rows).astype({"station": float})
    squares = []
    for _, own in frame.groupby(["block", "bore"]):
        angle = own.groupby("station")["mean"].mean()
        columns = sm.add_constant(
            np.column_stack([np.cos(np.radians(angle.index)), np.sin(np.radians(angle.index))])
        )
        squares.append(sm.OLS(angle.to_numpy(), columns).fit().resid)
    left = np.array(squares) - np.mean(squares, axis=0)
    mean_square = 3 * (left**2).sum() / (len(squares) - 1)
    shifts = core_shifts(walls(rows))
    found = shifts.bore("W0", "1")
    assert found.vxx == pytest.approx(2 / 12 * mean_square, rel=0.02)
    assert found.degrees_of_freedom == 31
    assert shifts.scatter["works"].along == pytest.approx(0.7, abs=0.15)


def test_depths_that_have_nothing_in_common_change_nothing(walls: Callable[..., Places]) -> None:
    rows, _ = planted(np.random.default_rng(6), alike=0.0, missing=0.1, blocks=40)
    shifts = core_shifts(walls(rows))
    scatter = shifts.scatter["works"]
    assert scatter.along < 0.1
    assert scatter.variance == pytest.approx(0.08**2, rel=0.15)


def test_one_depth_and_three_angles_show_no_likeness(walls: Callable[..., Places]) -> None:
    rows, _ = planted(np.random.default_rng(7), alike=0.9)
    one = [row for row in rows if row["depth"] == "60"]
    scatter = core_shifts(walls(one)).scatter["works"]
    assert (scatter.along, scatter.of_bores) == (0.0, scatter.degrees_of_freedom)
    three = [row for row in rows if row["station"] != "270"]
    assert core_shifts(walls(three)).scatter["works"].along == 0.0


def test_a_lean_is_told_by_what_differs_down_the_bore(walls: Callable[..., Places]) -> None:
    """Alike places make a shift less certain and a lean more so; units change nothing."""
    rows, _ = planted(np.random.default_rng(8), alike=0.8)
    mm = core_shifts(walls(rows))
    inches = [
        {**row, "mean": row["mean"] / 25.4, "unit": "in", "step": 1e-4 / 25.4} for row in rows
    ]
    other = core_shifts(walls(inches))
    assert other.scatter["works"].along == pytest.approx(mm.scatter["works"].along, rel=1e-6)
    lean, scatter = mm.tilt("W1", "2"), mm.scatter["works"]
    plain = 2 / 12 * scatter.variance / (np.std([10.0, 60, 110]) ** 2)
    assert lean.vxx == pytest.approx(plain * (1 - scatter.along), rel=1e-6)
