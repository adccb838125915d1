"""Power of share comparisons: by hand, by the tests themselves, mirrors, refusals."""

from __future__ import annotations

from itertools import product

import pytest
from scipy.stats import binom

from workbench.errors import Refusal
from workbench.inference.planning.shares import (
    approximate_share_power,
    share_blocks,
    share_power,
)
from workbench.inference.shares.count import Count
from workbench.inference.shares.difference import share_difference


@pytest.mark.parametrize(
    ("kind", "margin"), [("greater", 0.1), ("greater", -0.2), ("same", 0.6), ("different", 0.0)]
)
def test_is_the_chance_that_the_projects_own_test_decides(kind, margin):
    """Outcome by outcome, with the one-sided p of the margins."""
    ours, others, n, m = 0.8, 0.45, 9, 7
    total = 0.0
    for a, b in product(range(n + 1), range(m + 1)):
        apart = share_difference(Count(yes=a, of=n), Count(yes=b, of=m))
        if kind == "greater":
            shown = apart.p_above(margin) < 0.025
        elif kind == "same":
            shown = max(apart.p_above(-margin), apart.p_below(margin)) < 0.05
        else:
            shown = apart.p_value() < 0.05
        total += shown * binom.pmf(a, n, ours) * binom.pmf(b, m, others)
    assert share_power(ours, others, n, m, kind=kind, margin=margin) == pytest.approx(total)


def test_mirrors():
    for margin in (0.0, 0.15):
        one = share_power(0.8, 0.4, 15, 22, kind="greater", margin=margin)
        assert share_power(0.4, 0.8, 22, 15, kind="less", margin=margin) == pytest.approx(one)
        turned = share_power(0.6, 0.2, 22, 15, kind="greater", margin=margin)
        assert turned == pytest.approx(share_power(0.8, 0.4, 15, 22, kind="greater", margin=margin))


def test_many_blocks_come_near_the_approximation():
    for kind, margin, ours in (
        ("greater", 0.05, 0.7),
        ("different", 0.0, 0.65),
        ("same", 0.2, 0.55),
    ):
        exact = share_power(ours, 0.5, 300, 300, kind=kind, margin=margin)
        about = approximate_share_power(ours, 0.5, 300, 300, kind=kind, margin=margin)
        assert about == pytest.approx(exact, abs=0.02)


@pytest.mark.parametrize(
    ("kind", "margin", "ours", "others"),
    [("different", 0.0, 0.8, 0.4), ("greater", 0.1, 0.9, 0.4), ("same", 0.4, 0.5, 0.5)],
)
def test_from_the_answer_on_the_power_stays(kind, margin, ours, others):
    found = share_blocks(ours, others, kind=kind, margin=margin)
    given = {"kind": kind, "margin": margin}
    assert found.counted
    assert found.power == share_power(ours, others, found.blocks, found.blocks, **given)
    for n in range(found.blocks, found.blocks + 8):
        assert share_power(ours, others, n, n, **given) >= 0.8
    assert share_power(ours, others, found.blocks - 1, found.blocks - 1, **given) < 0.8


def test_many_are_approximate_and_say_so():
    found = share_blocks(0.5, 0.55)
    assert not found.counted
    assert found.blocks > 1000
    assert approximate_share_power(0.5, 0.55, found.blocks - 1, found.blocks - 1) < 0.8


def test_certain_shares():
    assert share_power(1.0, 0.0, 10, 10) == pytest.approx(1.0)
    assert approximate_share_power(1.0, 0.0, 10, 10) == pytest.approx(1.0)
    assert share_power(1.0, 1.0, 10, 10) == 0


def test_out_of_reach():
    assert share_blocks(0.5, 0.5) is None
    assert share_blocks(0.6, 0.5, kind="greater", margin=0.2) is None


def test_refusals():
    with pytest.raises(Refusal, match=r"share lies from 0 to 1, not at 1\.2"):
        share_power(1.2, 0.5, 9, 9)
    with pytest.raises(Refusal, match="Plan 1 block or more, not 0 and 9"):
        share_power(0.5, 0.5, 0, 9)
    with pytest.raises(Refusal, match="Shares differ by less than 1"):
        share_power(0.5, 0.5, 9, 9, margin=1)
    with pytest.raises(Refusal, match="margin for 'same' is above 0"):
        share_power(0.5, 0.5, 9, 9, kind="same")
    with pytest.raises(Refusal, match="Power must lie"):
        share_blocks(0.8, 0.5, power=1)
