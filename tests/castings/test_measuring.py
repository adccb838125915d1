"""What the gauges' stated uncertainty leaves in a difference of families."""

import numpy as np
import pandas as pd
import pytest

from workbench.castings import measuring
from workbench.castings.calibration import Calibration, Calibrations
from workbench.errors import Refusal
from workbench.inference.measuring.calibration_fit import line
from workbench.records.settings import Gauge

FINE = Gauge(unit="mm", uncertainty=0.03)
COARSE = Gauge(unit="mm", uncertainty=0.04)


def cells(*gauges):
    return pd.DataFrame({"gauge": gauges, "corrected_by": "", "block": "B", "mean": 10.0})


def shared_error(cells, weights, gauges, unit):
    return measuring.shared_error(cells, weights, gauges, unit, Calibrations())


def test_one_gauge_for_both_families_cancels():
    error = shared_error(cells("a", "a"), np.array([1.0, -1.0]), {"a": FINE}, "mm")
    assert error.uncertainty == 0
    assert error.cancels
    assert error.unstated == ()


def test_a_gauge_for_each_family_adds_both_in_quadrature():
    stated = {"a": FINE, "b": COARSE}
    error = shared_error(cells("a", "b"), np.array([1.0, -1.0]), stated, "mm")
    assert error.uncertainty == pytest.approx(0.05)  # 3, 4, 5
    assert not error.cancels
    assert error.net_weights == {"a": 1.0, "b": -1.0}


def test_the_same_gauges_in_the_same_proportion_cancel():
    weights = np.array([0.25, 0.75, -0.25, -0.75])
    error = shared_error(cells("a", "b", "a", "b"), weights, {"a": FINE, "b": COARSE}, "mm")
    assert error.cancels


def test_what_is_not_shared_counts_by_its_net_weight():
    weights = np.array([0.5, 0.5, -1.0])  # the candidate by both, the reference by the second
    error = shared_error(cells("a", "b", "b"), weights, {"a": FINE, "b": COARSE}, "mm")
    assert error.uncertainty == pytest.approx(np.hypot(0.5 * 0.03, 0.5 * 0.04))


def test_the_sum_is_that_of_independent_offsets_by_simulation():
    generator = np.random.default_rng(5)
    weights, names = np.array([0.5, 0.5, -0.2, -0.8]), ("a", "b", "b", "c")
    sizes = {"a": 0.03, "b": 0.04, "c": 0.1}
    gauges = {name: Gauge(unit="mm", uncertainty=size) for name, size in sizes.items()}
    offsets = {name: size * generator.standard_normal(200_000) for name, size in sizes.items()}
    moved = sum(weight * offsets[name] for weight, name in zip(weights, names, strict=True))
    error = shared_error(cells(*names), weights, gauges, "mm")
    assert error.uncertainty == pytest.approx(moved.std(), rel=0.01)


def test_the_stated_unit_is_converted():
    error = shared_error(cells("a", "b"), np.array([1.0, -1.0]), {"a": FINE, "b": COARSE}, "in")
    assert error.uncertainty == pytest.approx(0.05 / 25.4)


@pytest.mark.parametrize("gauges", [{}, {"a": Gauge(unit="mm")}])
def test_without_a_stated_uncertainty_nothing_is_added_and_it_is_named(gauges):
    error = shared_error(cells("a", "b"), np.array([1.0, -1.0]), gauges | {"b": COARSE}, "mm")
    assert error.uncertainty == pytest.approx(0.04)
    assert error.unstated == ("a",)


def test_an_uncertainty_in_a_unit_that_does_not_fit_is_refused():
    gauges = {"a": Gauge(unit="HB", uncertainty=2.0)}
    with pytest.raises(Refusal, match=r"cannot be turned into"):
        shared_error(cells("a", "a"), np.array([1.0, -1.0]), gauges, "mm")


LINE = line([5.0, 15.0], [5.2, 15.3], reference_uncertainty=0.02, repeatability=0.01)
FITTED = Calibrations(
    by_name={name: Calibration(name=name, gauge="a", unit="mm", line=LINE) for name in ("C", "D")}
)


def corrected(*names, means=None, blocks=None):
    table = cells(*["a"] * len(names)).assign(corrected_by=names)
    table["mean"] = means or table["mean"]
    table["block"] = blocks or [f"B{at}" for at in range(len(names))]
    return table


def of_corrected(table, weights, **given):
    return measuring.shared_error(table, np.array(weights), {"a": FINE}, "mm", FITTED, **given)


def test_a_corrected_reading_has_its_lines_error_and_not_its_gauges():
    error = of_corrected(corrected("C"), [1.0])
    shown = LINE.indicated(10.0)
    assert error.uncertainty == pytest.approx(float(LINE.shared_uncertainty(shown)))
    assert error.net_weights == {}
    assert error.cancels
    assert {name for name, _ in error.by_name()} == {"scatter of C", "piece 5", "piece 15"}


def test_under_one_calibration_only_what_grows_with_the_reading_is_left():
    """The difference of two corrections by one line: var(slope) (x - y)^2 / slope^2."""
    error = of_corrected(corrected("C", "C", means=[12.0, 10.0]), [1.0, -1.0])
    assert error.uncertainty == pytest.approx(
        2.0 * np.sqrt(LINE.covariance().slope) / LINE.slope, rel=1e-9
    )
    alike = of_corrected(corrected("C", "C"), [1.0, -1.0])
    assert (alike.uncertainty, alike.budget, alike.degrees_of_freedom) == (0.0, None, np.inf)


def test_mixed_readings_add_both_kinds_of_error():
    table = corrected("C", "")
    error = of_corrected(table, [1.0, -1.0])
    of_line = float(LINE.shared_uncertainty(LINE.indicated(10.0)))
    assert error.uncertainty == pytest.approx(np.hypot(of_line, 0.03))
    assert error.net_weights == {"a": -1.0}
    told = of_corrected(table, [1.0, -1.0], gauges_told=True)
    assert told.uncertainty == pytest.approx(of_line)


def test_scatter_is_left_out_for_a_calibration_of_one_block_where_blocks_vary():
    one = corrected("C", "C", "D", "D", blocks=["B1", "B1", "B2", "B3"])
    names = dict(of_corrected(one, [0.5, 0.5, -0.5, -0.5], blocks_vary=True).by_name())
    assert "scatter of C" not in names
    assert "scatter of D" in names
    both = dict(of_corrected(one, [0.5, 0.5, -0.5, -0.5]).by_name())
    assert {"scatter of C", "scatter of D"} <= set(both)
