"""Several hardness readings at a place: their number and their scatter."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pandas as pd
import pytest

from workbench.castings.impressions import impression_spreads
from workbench.records.settings import Settings, built_in_quantities

SETTINGS = Settings(title="x", quantities=built_in_quantities())


def cells(*places: tuple[str, list[int]], **given: Any) -> pd.DataFrame:
    rows = []
    for block, values in places:
        k = np.array(values)
        text = {"block": block, "bore": "", "station": "", "depth": "", "gauge": "bt1"}
        text |= {"quantity": "hardness", "unit": "HB", "contact": "good", "sampling": "grid"}
        rows.append(text | {"step": 1.0, "n": k.size, "s1": k.sum(), "s2": (k * k).sum()} | given)
    return pd.DataFrame(rows)


def test_against_the_textbook_variance() -> None:
    places = [("B1", [200, 203, 205]), ("B2", [210, 211, 212]), ("B3", [199])]
    (found,) = impression_spreads(cells(*places), SETTINGS)
    squares = [np.var(values, ddof=1) * (len(values) - 1) for _, values in places[:2]]
    assert found.sd == pytest.approx(math.sqrt(sum(squares) / 4))
    assert (found.places, found.fewest, found.most, found.degrees_of_freedom) == (3, 1, 3, 4)
    assert found.least_sd == pytest.approx(np.std([210, 211, 212], ddof=1))
    assert found.largest_sd == pytest.approx(np.std([200, 203, 205], ddof=1))


def test_scales_and_gauges_stay_apart_and_what_is_no_hardness_is_left_out() -> None:
    frame = pd.concat(
        [
            cells(("B1", [200, 202])),
            cells(("B1", [500, 510]), unit="HLD", gauge="lt1"),
            cells(("B1", [11, 12]), quantity="deck_thickness", unit="mm"),
            cells(("B2", [200, 900]), contact="doubtful"),
            cells(("B2", [200, 900]), sampling="search"),
        ]
    )
    found = impression_spreads(frame, SETTINGS)
    assert [(of.gauge, of.unit, of.places) for of in found] == [("bt1", "HB", 1), ("lt1", "HLD", 1)]


def test_single_readings_have_no_scatter() -> None:
    (found,) = impression_spreads(cells(("B1", [200]), ("B2", [201])), SETTINGS)
    assert found.degrees_of_freedom == 0
    assert math.isnan(found.sd)
    assert impression_spreads(cells(("B1", [1])).iloc[:0], SETTINGS) == ()
