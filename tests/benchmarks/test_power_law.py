"""The exponent of a cost curve must be the one it was made with."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest


@pytest.fixture(scope="module")
def power_law() -> Any:
    spec = importlib.util.spec_from_file_location(
        "power_law", Path(__file__).with_name("power_law.py")
    )
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["power_law"] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("exponent", [0.5, 1.0, 1.3, 2.0])
@pytest.mark.parametrize("start", [0.001, 0.9])
def test_a_planted_exponent_is_found(power_law: Any, exponent: float, start: float) -> None:
    sizes = np.geomspace(10, 100_000, 5)
    costs = start + 2e-4 * sizes**exponent
    law = power_law.fitted(sizes, costs)
    assert law.exponent == pytest.approx(exponent, rel=0.01)
    assert law.at(sizes) == pytest.approx(costs, rel=1e-3)
    seconds_and_minutes = power_law.fitted(sizes, costs / 60)
    assert seconds_and_minutes.exponent == pytest.approx(law.exponent, rel=1e-3)


def test_a_cost_that_hardly_grows_is_said_to_stay(power_law: Any) -> None:
    sizes = np.geomspace(1, 1000, 4)
    assert power_law.fitted(sizes, np.array([200.0, 201.0, 203.0, 205.0])).words() == "stays"
    assert power_law.fitted(sizes, 1.0 + sizes).words() == "exponent 1.00"
