"""The stored table of false alarms is what the product does, and its bad rows carry a warning."""

from __future__ import annotations

import importlib.util
import math
import sys
from pathlib import Path
from types import ModuleType

import pytest

HIGHEST = 0.075
FEWEST = 1000  # studies a row
AGAIN = 100  # replicates of the short run


def _script() -> ModuleType:
    path = Path(__file__).with_name("false_alarms.py")
    spec = importlib.util.spec_from_file_location("false_alarms", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # dataclasses look their module up
    spec.loader.exec_module(module)
    return module


SCRIPT = _script()
DESIGNS = {design.name: design for design in SCRIPT.designs()}


def test_the_table_holds_every_design() -> None:
    assert list(SCRIPT.rows()) == list(DESIGNS)
    assert len(DESIGNS) >= 40
    assert min(int(row["replicates"]) for row in SCRIPT.rows().values()) >= FEWEST


def test_a_design_above_seven_and_a_half_in_a_hundred_carries_a_warning() -> None:
    for name, row in SCRIPT.rows().items():
        if float(row["false_alarms"]) > HIGHEST:
            assert float(row["warned"]) == 1.0, name
        if DESIGNS[name].plain:
            assert float(row["false_alarms"]) < HIGHEST, name


@pytest.mark.parametrize(
    "name",
    [
        "3/12 blocks, 4 bores, share 0.2",
        "10/12 blocks, 4 bores, share 0.2",
        "2/12 blocks, 4 bores, share 0.8, spread x3",
    ],
)
def test_a_short_run_agrees_with_the_table(name: str) -> None:
    stored = SCRIPT.rows()[name]
    rate = float(stored["false_alarms"])
    found = float(SCRIPT.run(DESIGNS[name], AGAIN)["false_alarms"])
    assert abs(found - rate) <= 3.5 * math.sqrt(rate * (1 - rate) * (1 / AGAIN + 1e-3)) + 1 / AGAIN
