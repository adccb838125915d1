"""The sizes beside a verdict, against SciPy and against formulas written out."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from scipy import stats

OURS, OTHERS = [5.18, 5.20, 5.22, 5.30, 5.26], [5.00, 5.04, 5.08, 5.12, 5.25, 5.20]


def judged(lab, ours, others, **given):
    rows = [
        (family, f"{family[0].upper()}{number}", "1", "front", mean)
        for family, means in (("trophy", ours), ("works", others))
        for number, mean in enumerate(means)
    ]
    cells = lab.cells(lab.table(rows, "family block bore station value"))
    return lab.judge(cells, lab.claim(**given)).verdicts[0]


def sizes(verdict) -> dict[str, tuple[float, float, float]]:
    return {effect.name: (effect.estimate, effect.low, effect.high) for effect in verdict.effects}


def test_each_size_against_its_formula(lab) -> None:
    found = sizes(judged(lab, OURS, OTHERS))
    ours, others = np.array(OURS), np.array(OTHERS)
    percent = found["difference in per cent"][0]
    assert percent == pytest.approx(100 * (ours.mean() / others.mean() - 1))
    df = ours.size + others.size - 2
    pooled = math.sqrt(((ours.size - 1) * ours.var(ddof=1) + (others.size - 1)
                        * others.var(ddof=1)) / df)  # fmt: skip
    g = (ours.mean() - others.mean()) / pooled * (1 - 3 / (4 * df - 1))  # Hedges 1981, from memory
    assert found["in standard deviations between blocks (Hedges' g)"][0] == pytest.approx(
        g, rel=2e-3
    )
    both = math.sqrt(ours.var(ddof=1) + others.var(ddof=1))
    chance = stats.norm.cdf((ours.mean() - others.mean()) / both)
    name = "chance that one block of the first exceeds one of the second"
    assert found[name][0] == pytest.approx(chance)
    low, high = found["share of blocks above the second's highest"][1:]
    wilson = stats.binomtest(2, 5).proportion_ci(method="wilson")
    assert (low, high) == pytest.approx((wilson.low, wilson.high))


def test_swapped_families_turn_the_signs(lab) -> None:
    here = sizes(judged(lab, OURS, OTHERS))
    there = sizes(judged(lab, OTHERS, OURS))
    name = "in standard deviations between blocks (Hedges' g)"
    assert there[name] == pytest.approx([-here[name][0], -here[name][2], -here[name][1]])
    name = "chance that one block of the first exceeds one of the second"
    assert there[name] == pytest.approx([1 - here[name][0], 1 - here[name][2], 1 - here[name][1]])


def test_a_claim_of_less_counts_blocks_below_the_lowest(lab) -> None:
    found = sizes(judged(lab, OTHERS, OURS, direction="less"))
    assert found["share of blocks below the second's lowest"][0] == pytest.approx(4 / 6)


def test_one_block_is_placed_in_the_other_family(lab) -> None:
    found = sizes(judged(lab, [5.3], OTHERS))
    share = found["share of the other family below the one block"]
    others = np.array(OTHERS)
    # Crawford and Howell's modified t (1998, from memory)
    t = (5.3 - others.mean()) / (others.std(ddof=1) * math.sqrt(1 + 1 / others.size))
    assert share[0] == pytest.approx(stats.t.cdf(t, others.size - 1))
    assert share[1] < share[0] < share[2] <= 1


def test_a_size_that_cannot_be_given_says_why_and_json_takes_it(lab) -> None:
    verdict = judged(lab, OURS, OTHERS, scope="block")
    assert verdict.effects == ()
    still = judged(lab, [5.2, 5.2, 5.2], OTHERS)
    text = json.dumps(still.to_json(), allow_nan=False)
    assert "Hedges" in text
