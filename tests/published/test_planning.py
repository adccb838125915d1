"""Plans against published tables and against R (r/planning.txt, printed by r/planning.R).

Cohen, J. (1988), Statistical Power Analysis for the Behavioral Sciences, tables 2.3.5 and 2.4.1;
R, help of power.t.test and power.prop.test; Cochran, W. G. (1977), Sampling Techniques, chapter
10; Pinheiro, J. C. and Bates, D. M. (2000), fit of the Oxide data; Kish, L. (1965), Survey
Sampling, section 5.4; Davies, O. L. (1954), table H; Lan, K. K. G. and DeMets, D. L. (1983) and
later tables of its bounds. Pages from memory.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from scipy.special import stdtrit

from workbench.inference.planning.aims import Aim
from workbench.inference.planning.blocks import fewest_blocks, nested_power
from workbench.inference.planning.detectable import detectable_difference
from workbench.inference.planning.layouts import (
    Layout,
    Precision,
    Spreads,
    contrast_precision,
    mean_precision,
)
from workbench.inference.planning.sequential import sequential_plan
from workbench.inference.planning.shares import (
    approximate_share_power,
    share_blocks,
    share_power,
)
from workbench.inference.planning.spread_ratio import spread_power
from workbench.inference.planning.width import expected_half_width

PRINTED = (Path(__file__).parent / "r" / "planning.txt").read_text(encoding="utf-8")
ONE = Spreads(block=1.0)


def witness(name):
    section = PRINTED.split(f"[{name}]\n")[1].split("\n\n")[0]
    pairs = (line.rsplit(maxsplit=1) for line in section.splitlines())
    return {key: float(value) for key, value in pairs}


def power_of_t(n, difference, **given):
    """Power at n a side, which need not be whole."""
    aim = Aim(**{"kind": "different", "difference": difference, **given})
    return aim.power(math.sqrt(2 / n), 2 * n - 2)


@pytest.mark.parametrize(
    ("difference", "power", "printed"), [(0.2, 0.8, 393), (0.5, 0.8, 64), (0.8, 0.8, 26)]
)
def test_blocks_as_cohen_prints_them(difference, power, printed):
    found = fewest_blocks(Aim(kind="different", difference=difference), ONE, power=power)
    # the table rounds 393.4 to the nearest number
    assert found in (printed, printed + 1)
    exact = witness("t")[f"n power {power} at {difference}"]
    assert found == math.ceil(exact)
    assert power_of_t(exact, difference) == pytest.approx(power, abs=2e-7)


def test_power_as_printed():
    assert power_of_t(30, 0.5) == pytest.approx(0.478, abs=5e-4)  # Cohen: .47
    assert power_of_t(20, 1) == pytest.approx(0.8689528, abs=5e-7)  # R help; far tail below it
    assert power_of_t(22.02110, 1) == pytest.approx(0.90, abs=5e-6)
    printed = witness("t")
    assert power_of_t(30, 0.5) == pytest.approx(printed["power 30 at 0.5"], abs=1e-8)
    assert power_of_t(5, 0.2) == pytest.approx(printed["power 5 at 0.2"], abs=1e-8)
    assert power_of_t(12, 1, kind="greater") == pytest.approx(
        printed["one-sided power 12 at 1"], abs=1e-8
    )
    precision = contrast_precision(ONE, Layout(blocks=20), Layout(blocks=20))
    assert detectable_difference(precision, power=0.9) == pytest.approx(
        printed["delta 20 power 0.9"], rel=1e-6
    )


def test_variance_of_a_nested_mean_as_printed():
    """Cochran's formula with the fitted variances of Oxide gives its printed standard error."""
    spreads = Spreads(block=129.9136004**0.5, bore=35.86575686**0.5, reading=12.56936357**0.5)
    found = mean_precision(spreads, Layout(blocks=8, bores=3, readings=3))
    assert found.standard_error**2 == pytest.approx(17.908, abs=5e-4)
    assert found.standard_error == pytest.approx(4.232, abs=5e-4)
    doubled = mean_precision(spreads, Layout(blocks=8, bores=3, readings=6))
    assert doubled.standard_error**2 == pytest.approx(17.82, abs=5e-3)
    more = mean_precision(spreads, Layout(blocks=16, bores=3, readings=3))
    assert more.standard_error**2 == pytest.approx(17.908 / 2, abs=5e-4)


def test_design_effect_as_printed():
    """Kish: 20 alike readings in a cluster with a correlation of 0.05 weigh 1.95 as much."""
    spreads = Spreads(block=0.05**0.5, reading=0.95**0.5)
    independent = 1 / (6 * 20)
    found = mean_precision(spreads, Layout(blocks=6, readings=20)).standard_error ** 2
    assert found / independent == pytest.approx(1.95)


def test_shares_as_printed():
    printed = witness("shares")
    assert approximate_share_power(0.5, 0.75, 50, 50) == pytest.approx(0.7401659, abs=5e-8)
    assert approximate_share_power(0.5, 0.75, 50, 50) == pytest.approx(printed["power 50"])
    # 76.7 blocks a family for 90 %
    assert (
        approximate_share_power(0.5, 0.75, 76, 76)
        < 0.9
        < approximate_share_power(0.5, 0.75, 77, 77)
    )
    assert share_power(0.75, 0.5, 20, 20) == pytest.approx(printed["counted 20 20"], abs=1e-8)
    assert share_power(0.9, 0.4, 12, 35) == pytest.approx(printed["counted 12 35"], abs=1e-8)
    assert share_power(0.3, 0.3, 9, 9) == pytest.approx(printed["counted 9 9 null"], abs=1e-8)
    found = share_blocks(0.75, 0.5, power=0.9)
    assert found.counted
    assert abs(found.blocks - printed["n power 0.9"]) < 4


def test_spreads_as_printed():
    printed = witness("spreads")
    assert spread_power(2, 12, 20) == pytest.approx(printed["power 12 20 at 2"], abs=1e-8)
    assert spread_power(0.5, 8, 8) == pytest.approx(printed["power 8 8 at 0.5"], abs=1e-8)
    # Davies, table H: ratio of variances found with 95 % at a one-sided 5 %, by freedom
    for freedom, ratio in ((10, 8.870), (20, 4.512), (30, 3.389), (60, 2.354)):
        n = freedom + 1
        found = spread_power(ratio**0.5, n, n, kind="greater", confidence=0.9)
        assert found == pytest.approx(0.95, abs=2e-4)
        fewer = spread_power(ratio**0.5, n - 1, n - 1, kind="greater", confidence=0.9)
        assert fewer < 0.95


def test_mean_of_an_estimated_spread_as_printed():
    """The constants c4 of control charts, as printed to four places."""
    for n, c4 in ((2, 0.7979), (5, 0.9400), (10, 0.9727), (25, 0.9896)):
        found = expected_half_width(Precision(standard_error=1.0, degrees_of_freedom=n - 1))
        assert found / float(stdtrit(n - 1, 0.975)) == pytest.approx(c4, abs=5e-5)


LOOKS = {
    "obrien-fleming 5": ("obrien-fleming", [0.2, 0.4, 0.6, 0.8, 1.0]),
    "pocock 5": ("pocock", [0.2, 0.4, 0.6, 0.8, 1.0]),
    "obrien-fleming uneven": ("obrien-fleming", [0.3, 0.45, 0.9, 1.0]),
    "pocock uneven": ("pocock", [0.1, 0.5, 0.6, 1.0]),
    "obrien-fleming 10": ("obrien-fleming", [k / 10 for k in range(1, 11)]),
}


@pytest.mark.parametrize("name", LOOKS)
def test_bounds_of_looks(name):
    spending, fractions = LOOKS[name]
    printed = witness(name)
    plan = sequential_plan(fractions, spending=spending)
    drift = plan.drift_for(0.8)
    reached = 0.0
    crossing = plan.crossing(drift)
    for place, chance in enumerate(crossing.above):
        # the witness stops its search within 1e-8 of the last level
        # (and is rough in its first bounds, where a millionth is spent)
        near = 2e-6 if plan.spent[place] > 1e-5 else 2e-4
        if plan.spent[place] > 1e-10:
            assert plan.bounds[place] == pytest.approx(printed[f"bound {place + 1}"], abs=near)
        assert plan.spent[place] == pytest.approx(printed[f"spent {place + 1}"], abs=2e-8)
        reached += chance
        assert reached == pytest.approx(printed[f"power {place + 1}"], abs=1e-6)
    assert plan.inflation(0.8) == pytest.approx(printed["inflation"], abs=1e-6)
    assert plan.inflation(0.8) * crossing.information == pytest.approx(
        printed["information at alternative"], abs=1e-6
    )


def test_bounds_of_five_looks_as_tabled():
    """Two-sided 5 %: Lan and DeMets' bounds in the usual tables."""
    strict = sequential_plan([0.2, 0.4, 0.6, 0.8, 1.0])
    assert strict.bounds == pytest.approx((4.877, 3.357, 2.680, 2.290, 2.031), abs=5e-4)
    level = sequential_plan([0.2, 0.4, 0.6, 0.8, 1.0], spending="pocock")
    assert level.bounds == pytest.approx((2.438, 2.427, 2.410, 2.397, 2.386), abs=5e-4)


def test_twenty_a_side_by_every_road():
    printed = witness("t")["power 20 at 1"]
    aim = Aim(kind="different", difference=1.0)
    assert nested_power(aim, ONE, Layout(blocks=20), Layout(blocks=20)) == pytest.approx(printed)
    apart = Spreads(block=0.6, bore=0.6, reading=(1 - 0.36 - 0.36) ** 0.5)
    assert nested_power(aim, apart, Layout(blocks=20), Layout(blocks=20)) == pytest.approx(printed)
