"""Corrected readings: undone they are what the gauge showed, in any unit, at any slope."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.castings.conftest import rows
from workbench.castings.calibration import Calibration, Calibrations
from workbench.castings.correction import beyond_pieces, corrected, corrected_moments
from workbench.inference.measuring.calibration_fit import line, ratio
from workbench.records.reduction import CELL_KEY, moments

LINE = line([5.0, 10.0], [5.4, 10.6])


def of(made=LINE, name: str = "C1", unit: str = "mm") -> Calibrations:  # type: ignore[no-untyped-def]
    return Calibrations(by_name={name: Calibration(name=name, gauge="ug1", unit=unit, line=made)})


def cells(*values: int, unit: str = "mm", step: float = 0.01, **given: str) -> pd.DataFrame:
    """Reduce readings, in whole steps, to one cell."""
    k = np.array(values, dtype=np.int64)
    key = dict.fromkeys(CELL_KEY, "") | {"gauge": "ug1", "calibration": "C1", "unit": unit} | given
    sums = {"n": k.size, "s1": k.sum(), "s2": (k**2).sum(), "kmin": k.min(), "kmax": k.max()}
    return pd.DataFrame([key | {"step": step} | sums])


def test_a_mean_its_ends_and_its_spread() -> None:
    found = corrected_moments(cells(540, 800, 1060), "mm", of()).iloc[0]
    assert found["mean"] == pytest.approx(7.5)
    assert (found["low"], found["high"]) == (pytest.approx(5.0), pytest.approx(10.0))
    assert found["step"] == pytest.approx(0.01 / 1.04)
    assert found["ss"] == pytest.approx(np.sum((np.array([5.0, 7.5, 10.0]) - 7.5) ** 2))
    assert (found["corrected_by"], found["extrapolated"]) == ("C1", False)


def test_distinct_values_are_corrected_too() -> None:
    shown = pd.DataFrame({"calibration": ["C1", ""], "gauge": "ug1", "value": [8.0, 8.0]})
    found = corrected(shown, "mm", of())
    assert found["value"].tolist() == [pytest.approx(7.5), 8.0]
    assert found["corrected_by"].tolist() == ["C1", ""]
    assert shown["value"].tolist() == [8.0, 8.0]  # what was given is left alone


@pytest.mark.parametrize(
    "given", [{"calibration": ""}, {"calibration": "C2"}, {"gauge": "ug2"}], ids=str
)
def test_what_has_no_calibration_of_its_gauge_stands_as_shown(given) -> None:  # type: ignore[no-untyped-def]
    shown = cells(540, 800, **given)
    found = corrected_moments(shown, "mm", of())
    pd.testing.assert_frame_equal(
        found.drop(columns=["corrected_by", "extrapolated", "completed"]), moments(shown, "mm")
    )
    assert found["corrected_by"].tolist() == [""]


@settings(max_examples=60, deadline=None)
@given(
    values=st.lists(st.integers(1, 3000), min_size=1, max_size=6),
    zero=st.floats(-1, 1),
    slope=st.floats(0.5, 1.5),
    unit=st.sampled_from(["mm", "in", "mil"]),
)
def test_a_calibration_applied_and_undone_returns_the_readings(values, zero, slope, unit) -> None:  # type: ignore[no-untyped-def]
    made = line([0.0, 10.0], [zero, zero + 10 * slope])
    shown = moments(cells(*values), unit)
    found = corrected(shown, unit, of(made))
    back = made.rescaled(1 if unit == "mm" else {"in": 1 / 25.4, "mil": 1000 / 25.4}[unit])
    for column in ("mean", "low", "high"):
        assert back.indicated(found[column].to_numpy()) == pytest.approx(
            shown[column].to_numpy(), rel=1e-9, abs=1e-9
        )
    assert found["ss"].to_numpy() * made.slope**2 == pytest.approx(shown["ss"].to_numpy())
    assert found["step"].to_numpy() * made.slope == pytest.approx(shown["step"].to_numpy())


def test_the_same_in_inches() -> None:
    """0.200 in are 5.08 mm, exactly; the calibration is of millimetres in both."""
    inches = corrected_moments(cells(200, 400, unit="in", step=0.001), "mm", of())
    metric = corrected_moments(cells(508, 1016), "mm", of())
    for column in ("mean", "low", "high", "ss"):
        assert inches[column].iloc[0] == pytest.approx(metric[column].iloc[0], rel=1e-12)
    turned = corrected_moments(cells(508, 1016), "in", of())
    assert turned["mean"].iloc[0] * 25.4 == pytest.approx(metric["mean"].iloc[0], rel=1e-12)


def test_a_calibration_in_another_kind_of_unit_is_not_used() -> None:
    found = corrected_moments(cells(204, unit="HB", step=1.0), "HB", of())
    assert (found["mean"].iloc[0], found["corrected_by"].iloc[0]) == (204.0, "")


def test_beyond_the_pieces() -> None:
    found = corrected_moments(
        pd.concat([cells(540, 1060), cells(539), cells(1000, 1061)]), "mm", of()
    )
    assert found["extrapolated"].tolist() == [False, True, True]
    one_piece = ratio(10.0, [10.5])
    assert beyond_pieces(one_piece, np.array([0.1, 10.5, 10.51])).tolist() == [False, False, True]


def test_the_end_of_a_range_is_inside_it_in_every_unit() -> None:
    inches = LINE.rescaled(1 / 25.4)
    shown = moments(cells(540, 1060), "in")
    assert not beyond_pieces(inches, shown["low"].to_numpy()).any()
    assert not beyond_pieces(inches, shown["high"].to_numpy()).any()


def test_a_fitted_table_corrects(fit) -> None:  # type: ignore[no-untyped-def]
    found = corrected_moments(cells(800), "mm", fit(rows([(5, 5.4), (10, 10.6)])))
    assert found["mean"].iloc[0] == pytest.approx(7.5)


def test_no_cells() -> None:
    assert corrected_moments(cells(1).iloc[:0], "mm", of()).empty
