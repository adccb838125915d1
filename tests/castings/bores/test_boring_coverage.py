"""Shift regions, least walls and boring allowances keep their promise on walls planted everywhere.

A short seeded run; `tests/calibration/bores_coverage.py` makes the fuller table.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest
from scipy.stats import binom

SCRIPT = Path(__file__).parents[2] / "calibration" / "bores_coverage.py"
STUDIES = 16


@pytest.fixture(scope="module")
def script() -> ModuleType:
    spec = importlib.util.spec_from_file_location("bores_coverage", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("design", ["four angles, rough"])
def test_what_is_promised_is_kept_as_often_as_promised(design: str, script: ModuleType) -> None:
    """At least as often as a true 95 % would be in 99.9 of 100 such runs."""
    found = script.coverage(script.DESIGNS[design], STUDIES, seed=11)
    least = binom.ppf(0.001, STUDIES, script.CONFIDENCE) / STUDIES
    assert set(found) == {"shift region", "least wall", "own centres", "best centres"}
    for name, share in found.items():
        assert share >= least, name
    assert found["shift region"] >= 0.93
