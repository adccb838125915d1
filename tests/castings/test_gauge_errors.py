"""What gauges may be out by: whose readings they shift, by how much, and which together."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pandas as pd
import pytest

from workbench.castings.calibration import Calibrations
from workbench.castings.gauge_errors import GaugeError, gauge_errors, shift_of_family
from workbench.records.settings import Gauge, Settings

ROWS = [
    ("works", "ug1", 30),
    ("works", "ug2", 10),
    ("trophy", "ug1", 12),
    ("deepdeck", "ug2", 9),
    ("deepdeck", "unknown", 9),
]


def shown() -> pd.DataFrame:
    rows = [
        {"family": family, "gauge": gauge, "calibration": "", "corrected_by": "", "n": n,
         "mean": 5.0}
        for family, gauge, n in ROWS
    ]  # fmt: skip
    return pd.DataFrame(rows)


@pytest.fixture
def errors(settings: Settings) -> tuple[GaugeError, ...]:
    stated = {
        "ug1": Gauge(kind="ultrasonic", unit="mm", uncertainty=0.04),
        "ug2": Gauge(kind="ultrasonic", unit="in", uncertainty=0.001),
    }
    known = replace(settings, gauges=stated)
    return gauge_errors(shown(), known, Calibrations(), "mm")


def test_each_family_owes_its_readings_to_its_gauges(errors) -> None:
    found = {error.gauge: error for error in errors}
    assert found["ug1"].uncertainty == 0.04
    assert found["ug2"].uncertainty == pytest.approx(0.0254)
    assert found["unknown"].uncertainty == 0.0  # nothing stated, nothing added
    assert found["ug1"].shares == {"trophy": 1.0, "works": 0.75}
    assert found["ug2"].shares == {"deepdeck": 0.5, "works": 0.25}


def test_one_error_for_all_that_one_gauge_read(errors) -> None:
    """Covariances by hand: 0.75 * 0.04^2 of works and trophy, 0.25 * 0.5 * 0.0254^2 by ug2."""
    generator = np.random.default_rng(6)
    draw = cache(lambda gauge, calibration: generator.standard_normal(100_000))
    shifts = [
        shift_of_family(errors, family, draw, 100_000)
        for family in ("works", "trophy", "deepdeck", "nobody")
    ]
    found = np.cov(shifts)
    ours, theirs = 0.04**2, 0.0254**2
    expected = [
        [0.75**2 * ours + 0.25**2 * theirs, 0.75 * ours, 0.125 * theirs, 0.0],
        [0.75 * ours, ours, 0.0, 0.0],
        [0.125 * theirs, 0.0, 0.25 * theirs, 0.0],
        [0.0, 0.0, 0.0, 0.0],
    ]
    assert found == pytest.approx(np.array(expected), abs=2e-5)
