"""Claims on shares below a limit: by place, bore and block; witnesses, scopes, shift, refusals."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import optimize, stats

from workbench.inference.shares.count import Count

STATIONS = ("front", "thrust", "rear", "counter")
MODEL, EXACT = "nested model of the iron", "exact unconditional test of two shares"


def walls(lab, family, mean, **given):
    return lab.readings(family, mean, stations=STATIONS, quantity="wall_thickness", **given)


def asked(lab, cells, **fields):
    given = {"direction": "less", "threshold": 4.5} | fields
    return lab.verdict(cells, quantity="wall_thickness", figure="share_below", **given)


def check(verdict, name):
    return next(check for check in verdict.checks if check.name == name)


def mid_p(count):
    """Mid-p limits at 95 %, by summing the binomial."""
    yes, of = count.yes, count.of

    def above(at):
        return stats.binom.sf(yes, of, at) + stats.binom.pmf(yes, of, at) / 2

    return (
        0.0 if yes == 0 else optimize.brentq(lambda at: above(at) - 0.025, 1e-12, 1, xtol=1e-13),
        1.0 if yes == of else optimize.brentq(lambda at: above(at) - 0.975, 0, 1, xtol=1e-13),
    )


@pytest.fixture
def parts(lab):
    return (walls(lab, "trophy", 5.0, blocks=12), walls(lab, "works", 4.5, blocks=14))


def shares(part, keys, limit=4.5):
    least = part.assign(v=part["value"].round(2)).groupby(keys)["v"].min()
    return (least < limit).groupby("block").mean()


@pytest.mark.parametrize(
    ("of", "keys"),
    [
        ("places", ["block", "bore", "station"]),
        ("bores", ["block", "bore"]),
        ("blocks", ["block"]),
    ],
)
def test_the_estimate_is_the_difference_of_mean_shares_of_blocks(lab, parts, of, keys):
    verdict = asked(lab, lab.cells(*parts), of=of)
    ours, others = (shares(part, keys).mean() for part in parts)
    assert verdict.estimate == pytest.approx(ours - others)
    assert verdict.unit == "share"
    assert verdict.outcome == "supported"
    assert verdict.of == of
    assert "percentage points" in verdict.sentence


def test_whole_blocks_are_compared_by_their_limits_and_the_exact_test(lab, parts):
    """One answer a block: mid-p limits squared and added, and Barnard's test (scipy)."""
    lab.settings = replace(lab.settings, gauges={})  # no error of measuring to count in
    verdict = asked(lab, lab.cells(*parts), of="blocks", threshold=4.4)
    counts = [shares(part, ["block"], 4.4) for part in parts]
    ours, others = (Count(yes=int(c.sum()), of=len(c)) for c in counts)
    p, q = ours.yes / ours.of, others.yes / others.of
    (p_low, p_high), (q_low, q_high) = (mid_p(count) for count in (ours, others))
    known = (p - q - math.hypot(p - p_low, q_high - q), p - q + math.hypot(p_high - p, q - q_low))
    assert (verdict.low, verdict.high) == pytest.approx(known, abs=1e-9)
    table = [[ours.yes, others.yes], [ours.of - ours.yes, others.of - others.yes]]
    one_sided = stats.barnard_exact(table, alternative="less").pvalue
    assert check(verdict, EXACT).p_value == pytest.approx(min(1, 2 * one_sided), rel=0.02)


def test_the_nested_model_beside_knows_the_share_of_the_iron(lab):
    """Many blocks: its difference is that of normal places, by their own mean and spread."""
    parts = [walls(lab, name, mean, blocks=150, within=0.1) for name, mean in
             (("trophy", 4.8), ("works", 4.6))]  # fmt: skip
    verdict = asked(lab, lab.cells(*parts))
    spread = math.sqrt(0.2**2 + 0.1**2 + 0.1**2)
    means = [part.groupby("station")["value"].mean().to_numpy() for part in parts]
    normal = [stats.norm.cdf((4.5 - row) / spread).mean() for row in means]
    assert check(verdict, MODEL).estimate == pytest.approx(normal[0] - normal[1], abs=0.02)


@pytest.mark.parametrize("direction", ["greater", "less", "same", "different"])
@pytest.mark.parametrize("margin", [0.0, 0.15, 0.35, 0.6])
@pytest.mark.parametrize("scope", ["family", "block"])
def test_every_direction_agrees_with_its_interval(lab, parts, direction, margin, scope):
    if direction == "same" and margin == 0:
        margin = 0.05
    verdict = asked(lab, lab.cells(*parts), direction=direction, margin=margin, scope=scope)
    assert (verdict.outcome != "unresolved") == (verdict.deciding_p < 0.05)
    assert -1 <= verdict.low <= verdict.estimate <= verdict.high <= 1 or scope == "block"


def test_swapped_families_turn_the_sign_and_keep_p(lab, parts):
    cells = lab.cells(*parts)
    plain = asked(lab, cells, direction="different")
    turned = asked(lab, cells, direction="different", candidate="works", reference="trophy")
    assert turned.estimate == pytest.approx(-plain.estimate)
    assert turned.p_value == pytest.approx(plain.p_value, rel=1e-6)


def test_inches_change_nothing(lab, parts):
    cells = lab.cells(*parts)
    plain = asked(lab, cells)
    inches = asked(lab, cells, unit="in", threshold=4.5 / 25.4)
    assert inches.estimate == pytest.approx(plain.estimate)
    assert inches.p_value == pytest.approx(plain.p_value, rel=1e-6)


def test_a_shared_gauge_error_moves_places_across_the_limit(lab):
    """Gauges of their own widen it; one gauge for both moves both alike and widens it less."""
    ours, others = walls(lab, "trophy", 4.6, blocks=20), walls(lab, "works", 4.5, blocks=20)
    apart = asked(lab, lab.cells(ours.assign(gauge="ug1"), others.assign(gauge="ug2")))
    alike = asked(lab, lab.cells(ours, others))
    assert apart.gauge_uncertainty > 3 * alike.gauge_uncertainty
    assert apart.high - apart.low > alike.high - alike.low
    # about u times the density of places at the limit, for each family
    values = np.concatenate([ours["value"], others["value"]])
    density = stats.gaussian_kde(values)(4.5)[0]
    assert apart.gauge_uncertainty == pytest.approx(0.05 * density * math.sqrt(2), rel=0.35)


def test_the_blocks_measured_are_judged_by_places_near_the_limit(lab):
    """Far from the limit nothing is in doubt; at it, half of the places may lie on either side."""
    far = [walls(lab, name, 6.0 + i, blocks=3, repeats=4) for i, name in
           enumerate(("trophy", "works"))]  # fmt: skip
    verdict = asked(lab, lab.cells(*far), scope="block", direction="same", margin=0.01)
    assert verdict.outcome == "supported"
    near = [walls(lab, name, 4.5 - 0.3 * i, blocks=3, repeats=4) for i, name in
            enumerate(("trophy", "works"))]  # fmt: skip
    block, family = (asked(lab, lab.cells(*near), scope=scope) for scope in ("block", "family"))
    assert 0 < block.standard_error < family.standard_error
    assert "holds for these blocks alone" in block.sentence


def test_one_block_borrows_and_says_so(lab):
    parts = (walls(lab, "trophy", 5.5, blocks=1), walls(lab, "works", 4.5, blocks=10))
    verdict = asked(lab, lab.cells(*parts))
    (threat,) = [threat for threat in verdict.warnings if threat.code == "one_block"]
    assert "miss the truth up to 9 times in 100" in threat.text
    assert verdict.has_numbers


def test_two_blocks_are_too_few(lab):
    parts = (walls(lab, "trophy", 5.0, blocks=1), walls(lab, "works", 4.5, blocks=1))
    verdict = asked(lab, lab.cells(*parts))
    assert (verdict.outcome, verdict.warnings[0].code) == ("unresolved", "too_few_blocks")


@pytest.mark.parametrize(
    ("limit", "words"),
    [
        (0.177, "none lies below it in either family"),  # 4.5 mm, written in inches
        (114.3, "all lie below it in either family"),  # 4.5 inches
    ],
)
@pytest.mark.parametrize("scope", ["family", "block"])
def test_a_limit_in_another_unit_is_refused(lab, parts, limit, words, scope):
    verdict = asked(lab, lab.cells(*parts), threshold=limit, scope=scope)
    assert verdict.outcome == "unresolved"
    assert math.isnan(verdict.low)
    (threat,) = [one for one in verdict.warnings if one.code == "limit_far_off"]
    assert words in threat.text
    assert "Is it in the unit of the claim?" in threat.text
    assert "unit of the claim" in verdict.next_step


def test_a_limit_that_no_place_lies_below_is_answered_where_it_is_near(lab, parts):
    verdict = asked(lab, lab.cells(*parts), threshold=3.5)
    assert verdict.estimate == 0
    assert verdict.low < 0 < verdict.high
    block = asked(lab, lab.cells(*parts), threshold=3.5, scope="block")
    assert (block.outcome, block.estimate) == ("unresolved", 0)
