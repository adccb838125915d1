"""The whole way from the rows of a study to a fit, done once more in R with fitdistrplus.

R reads the rows and the reference pieces by itself, turns both ends of every reading by the line of
its calibration, and fits them as interval-censored: `r/demo_deck_fit.R`.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from workbench.castings.family_readings import FamilyReadings, family_readings
from workbench.inference.distributions.fit import Fit, fit_distribution
from workbench.inference.distributions.readings import Readings
from workbench.study import open_study

DEMO = Path(__file__).parents[2] / "data" / "demo"
NAMED = {"norm": "normal", "lnorm": "lognormal", "gamma": "gamma", "logis": "logistic"}
LIMIT = 12.9


@pytest.fixture(scope="module")
def decks() -> FamilyReadings:
    study = open_study(DEMO)
    asked = (study.records, study.settings, study.calibrations, "deck_thickness", "mm")
    return family_readings(*asked)["deepdeck"]


def numbers(fit: Fit) -> list[float]:
    values = list(fit.estimates.values())
    if fit.family == "gamma":  # R gives one over the scale
        values[1] = 1 / values[1]
    return [*values, fit.log_likelihood]


@pytest.mark.parametrize("named", NAMED)
def test_corrected_intervals_are_fitted_as_in_r(
    decks: FamilyReadings, named: str, printed_by_r: Callable[[str], dict[str, list[float]]]
) -> None:
    printed = printed_by_r("demo_deck_fit")
    assert printed["readings"] == [decks.size]
    fit = fit_distribution(decks.readings, NAMED[named])
    assert numbers(fit) == pytest.approx(printed[named], rel=2e-6)


def test_readings_known_only_from_above_are_fitted_as_in_r(
    decks: FamilyReadings, printed_by_r: Callable[[str], dict[str, list[float]]]
) -> None:
    printed = printed_by_r("demo_deck_fit")
    table = decks.table
    beyond = (table["high"] < LIMIT).to_numpy()
    assert printed["below"] == [int(table.loc[beyond, "n"].sum())]
    readings = Readings.between(
        np.where(beyond, -np.inf, table["low"]), np.where(beyond, LIMIT, table["high"]), table["n"]
    )
    assert readings.censored == printed["below"][0]
    fit = fit_distribution(readings, "normal")
    assert numbers(fit) == pytest.approx(printed["censored_norm"], rel=2e-6)
