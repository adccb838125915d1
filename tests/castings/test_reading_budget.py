"""Budgets of one reading and of a mean of places: by hand, by Monte Carlo, by their identities."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from workbench.castings.calibration import Calibration, Calibrations
from workbench.castings.reading_budget import Scatter, mean_budget, scatter_of
from workbench.errors import Refusal
from workbench.inference.measuring.calibration_fit import line
from workbench.inference.measuring.propagation import compare, propagate_budget
from workbench.records.settings import Gauge

GAUGES = {"ug1": Gauge(unit="mm", uncertainty=0.03, resolution=0.01)}
LINE = line([5.0, 10.0, 15.0], [5.22, 10.41, 15.60], reference_uncertainty=0.01, repeatability=0.02)
CALIBRATED = Calibrations(
    by_name={"C1": Calibration(name="C1", gauge="ug1", unit="mm", line=LINE)},
)


def rows(*means: float, **given: Any) -> pd.DataFrame:
    """Lay out corrected moments, a place a row."""
    frame = pd.DataFrame({"mean": means, "station": [str(at) for at in range(len(means))]})
    text = {"block": "B1", "bore": "1", "depth": "", "operator": "", "gauge": "ug1"}
    fixed = {"corrected_by": "", "unit": "mm", "contact": "good", "n": 1, "ss": 0.0, "step": 0.01}
    return frame.assign(**{**text, **fixed, "completed": "", **given})


SEEN = {"ug1": Scatter(sd=0.05, degrees_of_freedom=20)}


def test_one_reading_by_hand() -> None:
    found = mean_budget("wall", rows(4.62), SEEN, GAUGES, Calibrations())
    parts = {part.name: part.standard_uncertainty for part in found.budget.components}
    assert parts == {"repeated readings by ug1": 0.05, "gauge ug1": 0.03}
    assert found.budget.combined == pytest.approx(math.hypot(0.05, 0.03))
    nu = (0.05**2 + 0.03**2) ** 2 / (0.05**4 / 20)  # JCGM 100, G.2b
    assert found.budget.degrees_of_freedom == pytest.approx(nu)
    assert (found.value, found.readings, found.unit) == (4.62, 1, "mm")


def test_a_mean_of_places_falls_by_the_root_of_their_number_but_not_what_is_shared() -> None:
    found = mean_budget("bore", rows(4.5, 4.6, 4.7, 4.8), SEEN, GAUGES, Calibrations())
    assert found.value == pytest.approx(4.65)
    assert found.budget.combined == pytest.approx(math.hypot(0.05 / 2, 0.03))
    many = mean_budget("bore", rows(4.5, 4.7, n=8), SEEN, GAUGES, Calibrations())
    assert many.budget.combined == pytest.approx(math.hypot(0.05 / 4, 0.03))
    one = mean_budget("bore", rows(4.5, 4.7, n=8), SEEN, GAUGES, Calibrations(), single=True)
    assert one.budget.combined == pytest.approx(math.hypot(0.05 / math.sqrt(2), 0.03))
    assert one.readings == 2


def test_a_calibration_brings_its_pieces_and_its_scatter() -> None:
    found = mean_budget("wall", rows(8.0, corrected_by="C1"), SEEN, GAUGES, CALIBRATED)
    names = [part.name for part in found.budget.components]
    assert names[:2] == ["repeated readings by ug1", "scatter of C1"]
    assert sum("piece" in name for name in names) == 3
    assert not any(name.startswith("gauge") for name in names)
    of_line = float(LINE.shared_uncertainty(LINE.indicated(8.0)))
    assert found.budget.combined == pytest.approx(math.hypot(0.05, of_line))


def test_the_step_of_the_display_is_the_least_scatter() -> None:
    """JCGM 100, F.2.2.1: 0.29 of the step; averaging repeats that show one value does not help."""
    still = {"ug1": Scatter(sd=0.0, degrees_of_freedom=9)}
    coarse = {"ug1": Gauge(unit="mm", resolution=0.1)}
    found = mean_budget("wall", rows(4.6, n=10), still, coarse, Calibrations())
    (part,) = found.budget.components
    assert part.name == "step of the display by ug1"
    assert found.budget.combined == pytest.approx(0.0289, abs=5e-5)


def test_without_repeats_what_is_stated_counts_once() -> None:
    found = mean_budget("wall", rows(4.62), {}, GAUGES, Calibrations())
    assert [part.name for part in found.budget.components] == ["gauge ug1"]
    assert found.budget.combined == pytest.approx(0.03)
    corrected = mean_budget("wall", rows(8.0, corrected_by="C1"), {}, GAUGES, CALIBRATED)
    own = LINE.reading_sd / LINE.slope  # type: ignore[operator]
    of_line = float(LINE.shared_uncertainty(LINE.indicated(8.0)))
    assert corrected.budget.combined == pytest.approx(math.hypot(own, of_line))


def test_what_is_stated_of_a_gauge_does_not_fall_with_the_number_of_its_readings() -> None:
    """JCGM 100, 5.2.2, example (from memory): what comes from one standard adds up in full."""
    found = mean_budget("bore", rows(4.5, 4.6, 4.7, 4.8, n=3), {}, GAUGES, Calibrations())
    assert found.budget.combined == pytest.approx(0.03)
    coarse = {"ug1": Gauge(unit="mm", uncertainty=0.03, resolution=0.2)}
    found = mean_budget("bore", rows(4.4, 4.6, 4.8, 5.0), {}, coarse, Calibrations())
    assert [part.name for part in found.budget.components] == ["step of the display", "gauge ug1"]
    assert found.budget.combined == pytest.approx(math.hypot(0.03, 0.2 / math.sqrt(12 * 4)))


def test_nothing_known_is_refused() -> None:
    with pytest.raises(Refusal, match="No place was read twice"):
        mean_budget("wall", rows(4.62), {}, {}, Calibrations())
    with pytest.raises(Refusal, match="no reading of wall"):
        mean_budget("wall", rows(), SEEN, GAUGES, Calibrations())


@pytest.mark.parametrize("corrected_by", ["", "C1"])
def test_the_formula_agrees_with_monte_carlo(corrected_by: str) -> None:
    """JCGM 101, clause 8: linear, and degrees of freedom enough, so both give the same."""
    sure = {"ug1": replace(SEEN["ug1"], degrees_of_freedom=2000)}
    found = mean_budget("wall", rows(8.0, corrected_by=corrected_by), sure, GAUGES, CALIBRATED)
    drawn = propagate_budget(
        found.budget, found.value, generator=np.random.default_rng(3), trials=1_000_000
    )
    interval = found.interval(0.95)
    assert drawn.standard_uncertainty == pytest.approx(found.budget.combined, rel=0.005)
    assert compare(drawn, interval, found.budget.combined).agree


def test_scatter_is_pooled_over_places_of_one_gauge() -> None:
    """By hand: places (4.5, 4.7), (5.0, 5.1, 5.2) and a lone one, not the spread between."""
    together = rows(4.6, 5.1, 6.0, n=[2, 3, 1], ss=[0.02, 0.02, 0.0])
    apart = rows(4.5, 4.7, 5.1, 6.0, n=[1, 1, 3, 1], ss=[0.0, 0.0, 0.02, 0.0])
    apart["station"] = ["0", "0", "1", "2"]  # one place in two cells
    for frame in (together, apart):
        found = scatter_of(frame)["ug1"]
        assert found.degrees_of_freedom == 3
        assert found.sd == pytest.approx(math.sqrt(0.04 / 3))
    assert scatter_of(rows(4.6, 5.1)) == {}
    assert scatter_of(together.assign(contact="doubtful")) == {}
