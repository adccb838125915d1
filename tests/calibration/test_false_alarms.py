"""The stored table of false alarms is what the product does, and its bad rows carry a warning."""

from __future__ import annotations

import importlib.util
import math
import sys
from pathlib import Path
from types import ModuleType

import pytest

HIGHEST = 0.075
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
    for name, row in SCRIPT.rows().items():
        assert int(row["replicates"]) == DESIGNS[name].replicates, name


def test_a_design_above_seven_and_a_half_in_a_hundred_carries_a_warning() -> None:
    for name, row in SCRIPT.rows().items():
        if float(row["false_alarms"]) > HIGHEST:
            assert float(row["warned"]) == 1.0, name


def test_normal_families_of_one_spread_make_four_to_six_in_a_hundred() -> None:
    for name, row in SCRIPT.rows().items():
        if DESIGNS[name].plain:
            assert abs(float(row["false_alarms"]) - 0.05) < 0.01 + 2 * float(row["error"]), name


@pytest.mark.parametrize(
    "name",
    [
        "1/5 blocks, 4 bores, share 0.2",
        "2/3 blocks, 4 bores, share 0.2",
        "3/12 blocks, 4 bores, share 0",
        "10/12 blocks, 6 bores, share 0",
        "3/12 blocks, 1 bores, share 0",
        "2/12 blocks, 4 bores, share 0.8, spread x3",
        "3/12 blocks, 4 bores, share 0.8, skewed",
        "5/12 blocks, 4 bores, share 0.2, rounded",
        "5/12 blocks, 4 bores, share 0.2, own gauges",
    ],
)
def test_blocks_read_alike_are_judged_by_their_means_study_by_study(name: str) -> None:
    """What the table rests on: from cells, the same choice, difference and p, however small."""
    few = 12
    short = SCRIPT.answers(DESIGNS[name], few)
    for by_means, whole in zip(short, SCRIPT.answers(DESIGNS[name], few, whole=True), strict=True):
        assert by_means[0] == whole[0]
        first, second = by_means[1], whole[1]
        assert second.estimate == pytest.approx(first.estimate, rel=1e-6, abs=1e-9)
        assert second.standard_error == pytest.approx(first.standard_error, rel=1e-5)
        assert second.degrees_of_freedom == pytest.approx(first.degrees_of_freedom, rel=1e-4)


@pytest.mark.parametrize(
    "name",
    [
        "3/12 blocks, 4 bores, share 0.2, uneven",
        "10/12 blocks, 4 bores, share 0.2",
        "2/12 blocks, 4 bores, share 0.8, spread x3",
    ],
)
def test_a_short_run_agrees_with_the_table(name: str) -> None:
    stored = SCRIPT.rows()[name]
    rate = float(stored["false_alarms"])
    found = float(SCRIPT.run(DESIGNS[name], AGAIN, whole=True)["false_alarms"])
    assert abs(found - rate) <= 3.5 * math.sqrt(rate * (1 - rate) * (1 / AGAIN + 1e-3)) + 1 / AGAIN
