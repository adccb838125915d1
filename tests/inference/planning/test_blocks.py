"""How many blocks: the edge of enough, simulated studies, refusals."""

from __future__ import annotations

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.means.welch import Summary, welch
from workbench.inference.planning.aims import Aim
from workbench.inference.planning.blocks import fewest, fewest_blocks, nested_power
from workbench.inference.planning.layouts import Layout, Spreads

SPREADS = Spreads(block=0.4, bore=0.3, reading=0.2)
AIM = Aim(kind="greater", difference=0.5)


def power_of(candidate, reference, aim=AIM, **given):
    ours, others = (Layout(blocks=n, bores=4, readings=2) for n in (candidate, reference))
    return nested_power(aim, SPREADS, ours, others, **given)


@pytest.mark.parametrize("add", ["each", "candidate", "reference"])
@pytest.mark.parametrize("shared", [0.0, 0.1])
def test_the_answer_is_the_first_that_is_enough(add, shared):
    found = fewest_blocks(
        AIM, SPREADS, bores=4, readings=2, candidate=9, reference=12, add=add, shared=shared
    )
    ours, others = add != "reference", add != "candidate"
    assert power_of(9 + found * ours, 12 + found * others, shared=shared) >= 0.8
    short = found - 1
    assert power_of(9 + short * ours, 12 + short * others, shared=shared) < 0.8


def test_every_number_from_the_answer_on_is_enough():
    for power in (0.5, 0.8, 0.95):
        found = fewest_blocks(AIM, SPREADS, bores=4, readings=2, power=power)
        reached = [power_of(n, n) for n in range(2, found + 15)]
        assert reached == sorted(reached)
        assert next(n for n, p in enumerate(reached, start=2) if p >= power) == found


def test_enough_already_needs_none():
    assert fewest_blocks(AIM, SPREADS, bores=4, candidate=40, reference=40) == 0


def test_what_can_never_be_enough_has_no_answer():
    assert fewest_blocks(Aim(kind="greater", difference=0.2, margin=0.2), SPREADS) is None
    assert fewest_blocks(AIM, SPREADS, shared=0.5) is None  # the gauge alone
    assert (
        fewest_blocks(AIM, SPREADS, candidate=1, reference=3, add="reference", most=10**6) is None
    )
    assert fewest_blocks(AIM, SPREADS, most=5) is None


def test_spreads_of_their_own():
    wide = Spreads(block=1.2)
    pooled = fewest_blocks(AIM, SPREADS)
    own = fewest_blocks(AIM, wide, reference_spreads=SPREADS)
    assert own > pooled
    ours, others = Layout(blocks=own), Layout(blocks=own)
    assert nested_power(AIM, wide, ours, others, reference_spreads=SPREADS) >= 0.8


def test_power_against_drawn_studies():
    """Welch on drawn block means, families of unlike spread: a rate within its error."""
    rng = np.random.default_rng(3)
    aim, wide, narrow = Aim(kind="greater", difference=1.0), Spreads(block=1.0), Spreads(block=0.4)
    shown = []
    for _ in range(3000):
        ours, others = 1.0 + rng.normal(0, 1.0, 8), rng.normal(0, 0.4, 12)
        difference = welch(Summary.of(ours), Summary.of(others))
        shown.append(difference.interval().low > 0)
    expected = nested_power(
        aim, wide, Layout(blocks=8), Layout(blocks=12), reference_spreads=narrow
    )
    assert np.mean(shown) == pytest.approx(expected, abs=0.035)


def test_fewest():
    for first in (0, 1, 2, 37, 1000):
        assert fewest(lambda n, first=first: n >= first, least=0) == first
    assert fewest(lambda n: n >= 100, most=99) is None
    assert fewest(lambda n: n >= 99, most=99) == 99


def test_refusals():
    with pytest.raises(Refusal, match="add is one of each, candidate, reference, not 'both'"):
        fewest_blocks(AIM, SPREADS, add="both")
    with pytest.raises(Refusal, match="Blocks measured are 0 or more, not -1"):
        fewest_blocks(AIM, SPREADS, candidate=-1)
    with pytest.raises(Refusal, match="Power must lie"):
        fewest_blocks(AIM, SPREADS, power=0)


def test_spreads_taken_apart_from_so_many_blocks_on():
    """From 2 + 3 against 40 on by Welch: the answer is enough so, and one block less is not."""
    aim, spreads = Aim(kind="greater", difference=1.4), Spreads(block=1.0)
    together = fewest_blocks(aim, spreads, candidate=2, reference=40, add="candidate")
    apart = fewest_blocks(aim, spreads, candidate=2, reference=40, add="candidate", own_from=5)
    assert together == 3
    assert apart > together

    def welch(more):
        layouts = Layout(blocks=2 + more), Layout(blocks=40)
        return nested_power(aim, spreads, *layouts, reference_spreads=spreads)

    assert welch(apart) >= 0.8 > welch(apart - 1)
