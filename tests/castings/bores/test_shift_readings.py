"""The core shift of a bore as a length: its bias against the Rice distribution, and its cells."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import rice

from workbench.castings.bores.core_shift import core_shifts
from workbench.castings.bores.shift_readings import LEFT, SHORT, shift_cells, short_shifts
from workbench.inference.directions.vector import VectorEstimate
from workbench.records.reduction import CELL_KEY, moments


def corrected(x: float, y: float, variance: float) -> float:
    return VectorEstimate(
        x=x,
        y=y,
        vxx=variance,
        vxy=0.0,
        vyy=variance,
        degrees_of_freedom=50,
        whole_matrix=False,
        method="planted",
    ).size_corrected


@pytest.mark.parametrize(("true", "most"), [(0.0, 0.77), (1.5, 0.02), (2.0, 0.03), (4.0, 0.01)])
def test_most_of_what_errors_add_to_a_length_is_taken_off(true: float, most: float) -> None:
    """The plain length is a Rice variable (scipy); the corrected one by its quantiles."""
    quantiles = (np.arange(20_000) + 0.5) / 20_000
    lengths = rice.ppf(quantiles, true)
    plain = float(rice.mean(true)) - true
    mean = float(np.mean([corrected(length, 0.0, 1.0) for length in lengths])) - true
    assert abs(mean) < most
    assert abs(mean) < plain
    if true == 0:
        assert mean == pytest.approx(LEFT, abs=0.01)


def test_beyond_a_few_errors_the_length_is_hardly_changed() -> None:
    assert corrected(3.0, 4.0, 0.01) == pytest.approx(5.0, abs=1.01e-3)
    assert corrected(0.01, 0.0, 1.0) == 0.0


def test_every_bore_is_one_reading_of_the_corrected_length(walls, drawn) -> None:
    shifts = core_shifts(walls(drawn(np.random.default_rng(7), blocks=2)))
    cells = shift_cells(shifts)
    assert set(CELL_KEY) <= set(cells.columns)
    assert len(cells) == 8
    assert set(cells["quantity"]) == {"core_shift"}
    found = moments(cells, "mm")
    row = found[(found["block"] == "W02") & (found["bore"] == "3")].iloc[0]
    assert row["mean"] == pytest.approx(shifts.bore("W02", "3").size_corrected, abs=5.1e-5)
    assert (row["n"], row["ss"], row["unit"]) == (1, 0.0, "mm")


def test_a_bore_whose_shift_is_not_determined_is_no_reading(walls, drawn) -> None:
    rows = [
        row
        for row in drawn(np.random.default_rng(8), blocks=2)
        if row["bore"] != "2" or row["station"] in ("front", "rear")
    ]
    cells = shift_cells(core_shifts(walls(rows)))
    assert sorted(cells["bore"].unique()) == ["1", "3", "4"]


def test_shifts_within_twice_their_error_are_counted_with_their_bound(walls, drawn) -> None:
    rng = np.random.default_rng(9)
    rows = drawn(rng, blocks=20, shift=(0.0, 0.0)) + drawn(
        rng, blocks=20, shift=(0.0, 0.9), family="trophy"
    )
    shifts = core_shifts(walls(rows))
    found = short_shifts(shifts)
    assert found["trophy"].short == 0
    assert found["trophy"].too_long == 0.0
    # a length of pure error is below 2 of them with probability 1 - exp(-2) = 0.865 (Rayleigh)
    assert found["works"].short / found["works"].bores == pytest.approx(0.865, abs=0.11)
    error = np.sqrt((shifts.bores["vxx"] + shifts.bores["vyy"]).mean() / 2)
    assert found["works"].too_long == pytest.approx(
        LEFT * error * found["works"].short / found["works"].bores, rel=0.1
    )
    assert SHORT == 2.0
