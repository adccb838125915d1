"""Missing parts: what is added to a mass, and what their stated masses leave in a difference."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from workbench.castings.allowances import Allowances, allowances_of
from workbench.records.allowance_table import Part

PARTS = {
    "cap": Part(mass=0.5, uncertainty=0.03, unit="kg"),
    "plugs": Part(mass=8.0, uncertainty=0.8, unit="oz"),
}
OUNCE = 0.028349523125  # kg: NIST SP 811, appendix B.8 (from memory)


def known(**missing: str) -> Allowances:
    blocks = pd.DataFrame({"block": list(missing), "missing_parts": list(missing.values())})
    return allowances_of(blocks, PARTS)


def masses(*blocks: str, quantity: str = "mass") -> pd.DataFrame:
    return pd.DataFrame({"block": blocks, "quantity": quantity, "mean": 40.0, "low": 39.0})


def test_parts_are_added_in_the_unit_asked_for() -> None:
    allowances = known(A="2 x cap; plugs", B="sump", C="")
    found = allowances.added(masses("A", "B", "C"), "kg")
    assert found["mean"].tolist() == pytest.approx([40 + 1.0 + 8 * OUNCE, 40.0, 40.0])
    assert found["low"].tolist() == pytest.approx([39 + 1.0 + 8 * OUNCE, 39.0, 39.0])
    assert found["completed"].tolist() == ["A", "", ""]
    assert allowances.unstated == {"B": ("sump",)}
    assert allowances.of("A", "lb") == pytest.approx((1.0 + 8 * OUNCE) / 0.45359237)


def test_other_quantities_are_left_alone() -> None:
    found = known(A="cap").added(masses("A", quantity="deck_thickness"), "mm")
    assert found["mean"].tolist() == [40.0]
    assert found["completed"].tolist() == [""]


def test_the_error_of_a_part_is_one_error_in_all_blocks() -> None:
    """It cancels between blocks that both lacked it, and adds by number where one lacked it."""
    allowances = known(A="cap", B="cap", C="3 x cap; plugs")
    weights = np.array([0.5, 0.5, -1.0])
    cap, plugs = allowances.components(pd.Series(["A", "B", "C"]), weights, "kg")
    assert (cap.name, cap.contribution) == ("part cap", pytest.approx((0.5 + 0.5 - 3) * 0.03))
    assert plugs.contribution == pytest.approx(-0.8 * OUNCE)
    alike = allowances.components(pd.Series(["A", "B"]), np.array([1.0, -1.0]), "kg")
    assert [part.contribution for part in alike] == [0.0]
    assert allowances.components(pd.Series(["", ""]), np.array([1.0, -1.0]), "kg") == []
