"""Calibrations and walls laid out by hand: rows as the records hold them, settings, bores."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
import pandas as pd
import pytest

from workbench.castings.bores.core_shift import core_shifts
from workbench.castings.calibration import Calibrations, fit_calibrations
from workbench.castings.inspection import Inspection
from workbench.castings.places import Places, places_of
from workbench.errors import Refusal
from workbench.records.calibration_table import StatedCalibration
from workbench.records.settings import Drawing, Gauge, Settings, built_in_quantities

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


STATIONS = {"front": 0.0, "thrust": 90.0, "rear": 180.0, "counter": 270.0}
DRAWING = Drawing(
    unit="mm",
    bores=4,
    bore_diameter=86.0,
    bore_spacing=102.0,
    bore_length=140.0,
    wall_thickness=4.5,
    stations=STATIONS,
    depths={"top": 10.0, "middle": 60.0, "bottom": 110.0},
)
SETTINGS = Settings(
    title="Invented",
    quantities=built_in_quantities(),
    drawing=DRAWING,
    gauges={"ug1": Gauge(kind="ultrasonic", resolution=0.01, unit="mm", uncertainty=0.03)},
)
FIXED = {
    "family": "works",
    "block": "W01",
    "bore": "1",
    "station": "",
    "depth": "middle",
    "quantity": "wall_thickness",
    "unit": "mm",
    "gauge": "ug1",
    "calibration": "",
    "operator": "",
    "sampling": "grid",
    "contact": "good",
    "n": 1,
    "mean": 4.5,
    "ss": 0.0,
    "step": 0.01,
}
Rows = Sequence[Mapping[str, object]]


def _frame(rows: Rows) -> pd.DataFrame:
    frame = pd.DataFrame([{**FIXED, **row} for row in rows])
    return frame.assign(low=frame["mean"], high=frame["mean"])


@pytest.fixture
def frame() -> Callable[[Rows], pd.DataFrame]:
    """Give a moments frame from rows; what a row leaves out is as in `FIXED`."""
    return _frame


@pytest.fixture
def settings() -> Settings:
    return SETTINGS


@pytest.fixture
def walls() -> Callable[..., Places]:
    """Gather places from rows."""

    def gather(rows: Rows, settings: Settings = SETTINGS, **given: object) -> Places:
        return places_of(_frame(rows), settings, **given)  # type: ignore[arg-type]

    return gather


@pytest.fixture
def off_centre() -> Callable[..., float]:
    """Give the wall of a bore of radius `r` moved by (x, y) in a round wall of outer radius `R`.

    Read radially from the bore at `degrees`: exact, from the triangle of both centres.
    """

    def wall(degrees: float, x: float, y: float, r: float = 43.0, R: float = 48.0) -> float:
        turn = np.radians(degrees)
        along = x * np.cos(turn) + y * np.sin(turn)
        across = y * np.cos(turn) - x * np.sin(turn)
        return float(np.sqrt(R**2 - across**2) - along - r)

    return wall


@pytest.fixture
def drawn() -> Callable[..., list[dict[str, object]]]:
    """Draw blocks of walls from a planted shift and scatter; rows for `walls`."""

    def rows(
        rng: np.random.Generator,
        *,
        blocks: int = 6,
        bores: int = 4,
        depths: Mapping[str, float] = DRAWING.depths,
        angles: Mapping[str, float] = STATIONS,
        mean: float = 4.6,
        shift: tuple[float, float] = (0.0, 0.15),
        block_sd: float = 0.0,
        bore_sd: float = 0.0,
        place_sd: float = 0.1,
        family: str = "works",
    ) -> list[dict[str, object]]:
        found: list[dict[str, object]] = []
        for block in range(1, blocks + 1):
            whole = np.array(shift) + rng.normal(0, block_sd, 2)
            for bore in range(1, bores + 1):
                x, y = whole + rng.normal(0, bore_sd, 2)
                for depth in depths:
                    for station, degrees in angles.items():
                        turn = np.radians(degrees)
                        value = mean - x * np.cos(turn) - y * np.sin(turn)
                        found.append(
                            {
                                "family": family,
                                "block": f"{family[0].upper()}{block:02d}",
                                "bore": str(bore),
                                "depth": depth,
                                "station": station,
                                "mean": value + rng.normal(0, place_sd),
                            }
                        )
        return found

    return rows


@pytest.fixture
def inspected(drawn: Callable[..., list[dict[str, object]]]) -> Callable[..., Inspection]:
    """Inspect blocks with walls, decks, hardness and mass; `more` rows are added to those drawn."""

    def inspect(
        rng: np.random.Generator,
        *,
        more: Rows = (),
        without: Sequence[str] = (),
        settings: Settings = SETTINGS,
        blocks: int = 12,
        **given: object,
    ) -> Inspection:
        rows = drawn(rng, blocks=blocks, **given)
        for block in range(1, blocks + 1):
            name, whole = f"W{block:02d}", rng.normal(0, 0.3)
            for bore in "1234":
                for station in ("thrust", "counter"):
                    rows.append(
                        {
                            "quantity": "deck_thickness",
                            "block": name,
                            "bore": bore,
                            "station": station,
                            "depth": "",
                            "mean": 11.6 + whole + rng.normal(0, 0.1),
                        }
                    )
            for station in STATIONS:
                level = 204 + rng.normal(0, 1)
                rows.append(
                    {
                        **{"quantity": "hardness", "block": name, "bore": "", "depth": ""},
                        **{"station": station, "unit": "HB", "gauge": "bt1", "step": 1.0},
                        "mean": level,
                    }
                )
            rows.append(
                {
                    **{"quantity": "mass", "block": name, "bore": "", "depth": "", "station": ""},
                    **{"unit": "kg", "gauge": "sc1", "mean": 41.5 + rng.normal(0, 0.4)},
                }
            )
        kept = [
            row for row in [*rows, *more] if row.get("quantity", "wall_thickness") not in without
        ]
        return _inspection(_frame(kept), settings)

    return inspect


def _inspection(shown: pd.DataFrame, settings: Settings) -> Inspection:
    """Gather moments as `inspect_study` gathers cells."""
    places = {
        str(name): places_of(shown, settings, str(name)) for name in shown["quantity"].unique()
    }
    walls = places.get("wall_thickness")
    not_answered: dict[str, str] = {}
    shifts = None
    try:
        shifts = None if walls is None else core_shifts(walls)
    except Refusal as refusal:
        not_answered["core_shift"] = str(refusal)
    if walls is None:
        not_answered["core_shift"] = "No wall was read."
    families = dict(zip(shown["block"], shown["family"], strict=True))
    return Inspection(
        settings=settings,
        places=places,
        shifts=shifts,
        families=families,
        not_answered=not_answered,
    )
