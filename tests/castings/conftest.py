"""Calibrations laid out by hand: rows as `Records.calibrations` holds them, settings, lines."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pandas as pd
import pytest

from workbench.castings.calibration import Calibrations, fit_calibrations
from workbench.records.calibration_table import StatedCalibration
from workbench.records.settings import Gauge, Settings, built_in_quantities

GAUGES = {"ug1": Gauge(kind="ultrasonic", resolution=0.01, unit="mm", uncertainty=0.05)}
TEXT = ("calibration", "gauge", "material", "unit", "piece", "made_on", "part")


def rows(
    pairs: Sequence[tuple[float, float]],
    *,
    name: str = "C1",
    gauge: str = "ug1",
    material: str = "iron",
    unit: str = "mm",
    u: float = 0.0,
    **given: object,
) -> pd.DataFrame:
    """Lay out readings on pieces: (reference, indicated) each."""
    frame = pd.DataFrame(pairs, columns=["reference", "indicated"]).astype(float)
    fixed = {"calibration": name, "gauge": gauge, "material": material, "unit": unit}
    numbers = {"step": 0.01, "reference_uncertainty": u}
    return frame.assign(**dict.fromkeys(TEXT, "") | fixed | numbers | given)


@pytest.fixture
def fit() -> Callable[..., Calibrations]:
    """Fit calibrations from rows, with what `study.toml` states of them and of the gauges."""

    def fitted(
        *parts: pd.DataFrame, stated: dict[str, StatedCalibration] | None = None, **given: object
    ) -> Calibrations:
        frame = pd.concat(parts or [rows([]).iloc[:0]], ignore_index=True)
        frame["row"] = frame.index + 2
        settings = Settings(
            title="Invented",
            quantities=built_in_quantities(),
            gauges=GAUGES,
            calibrations=stated or {},
            **given,  # type: ignore[arg-type]
        )
        return fit_calibrations(frame, settings)

    return fitted
