"""The stored table of false alarms of share claims is what the product does, and stays low."""

from __future__ import annotations

import csv
import importlib.util
import math
import sys
from pathlib import Path
from types import ModuleType

import pytest

HERE = Path(__file__).parent
HIGHEST, OF_FEW = 0.075, 0.09  # the warnings of one block and of few name it
ENOUGH = 5  # blocks: below it a verdict carries them
AGAIN = 100  # studies of the short run


@pytest.fixture(scope="module")
def script() -> ModuleType:
    spec = importlib.util.spec_from_file_location("share_errors", HERE / "share_errors.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # dataclasses look their module up
    spec.loader.exec_module(module)
    return module


def stored() -> list[dict[str, str]]:
    with (HERE / "share_errors.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_no_design_makes_many_false_alarms(script: ModuleType) -> None:
    rows = stored()
    assert {(int(row["candidate"]), int(row["reference"])) for row in rows} == set(script.BLOCKS)
    assert len(rows) > 200
    for row in rows:
        assert int(row["studies"]) == script.STUDIES
        highest = HIGHEST if int(row["candidate"]) >= ENOUGH else OF_FEW
        assert float(row["false_alarms"]) < highest + 2.5 * float(row["error"]), row
    assert sum(float(row["false_alarms"]) for row in rows) / len(rows) < 0.05


@pytest.mark.parametrize(
    ("blocks", "wider", "shape"),
    [((3, 50), 0.5, "skewed down"), ((10, 50), 2.0, "two pours"), ((10, 10), 1.0, "normal")],
)
def test_a_short_run_agrees_with_the_table(
    script: ModuleType, blocks: tuple[int, int], wider: float, shape: str
) -> None:
    known = {
        (row["of"], row["limit"]): float(row["false_alarms"])
        for row in stored()
        if (int(row["candidate"]), int(row["reference"])) == blocks
        and (float(row["wider"]), row["shape"]) == (wider, shape)
    }
    found = list(script.rows(blocks, wider, shape, AGAIN))
    assert len(found) == len(known)
    for row in found:
        rate = known[row.of, str(row.limit)]
        error = math.sqrt(max(rate, 0.01) * (1 / AGAIN + 1 / script.STUDIES))
        assert abs(row.false_alarms - rate) < 3.5 * error, row
