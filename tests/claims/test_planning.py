"""How much more measuring would settle a claim, and what would unsettle it."""

import math

import numpy as np
import pytest

from workbench.claims.analysis import analyse
from workbench.claims.evidence import gather
from workbench.claims.planning import POWER, chance_decided, plan, slack
from workbench.claims.rules import Decision, decide
from workbench.inference.results import Difference, Interval
from workbench.records.settings import Gauge


def situation(lab, *parts, gauges=None, **fields):
    claim = lab.claim(**fields)
    evidence = gather(
        lab.cells(*parts),
        quantity=claim.quantity,
        candidate=claim.candidate,
        reference=claim.reference,
        unit=claim.unit,
    )
    analysis = analyse(evidence, lab.settings.gauges if gauges is None else gauges, claim.scope)
    return evidence, analysis, claim


@pytest.mark.parametrize(("effect", "blocks"), [(0.2, 394), (0.5, 64), (0.8, 26)])
def test_the_count_of_a_two_sample_t_of_eighty_per_cent(effect, blocks):
    """Cohen (1988), table 2.4.1, two-sided 5 per cent: 393.4, 63.77, 25.52 (from memory)."""
    n = np.arange(2.0, 500)
    chance = chance_decided(
        effect, np.sqrt(2 / n), 2 * n - 2, direction="different", margin=0.0, confidence=0.95
    )
    assert n[np.argmax(chance >= POWER)] == blocks


def test_the_power_of_twenty_against_twenty():
    """R's help page of `power.t.test`: n = 20, delta = 1, power 0.8689528."""
    chance = chance_decided(
        1.0,
        np.array([math.sqrt(2 / 20)]),
        np.array([38.0]),
        direction="greater",
        margin=0.0,
        confidence=0.95,
    )
    assert chance[0] == pytest.approx(0.8689528, abs=5e-6)


def test_a_margin_shifts_the_effect_and_mirrors_with_the_direction():
    errors, degrees = np.array([0.1, 0.3]), np.array([20.0, 5.0])
    given = {"margin": 2.0, "confidence": 0.95}
    above = chance_decided(2.5, errors, degrees, direction="greater", **given)
    below = chance_decided(-2.5, errors, degrees, direction="less", **given)
    plain = chance_decided(0.5, errors, degrees, direction="different", margin=0.0, confidence=0.95)
    assert above == pytest.approx(below)
    assert above == pytest.approx(plain)


@pytest.mark.parametrize(("direction", "tail"), [("same", 0.05), ("different", 0.025)])
def test_staying_inside_two_margins_against_a_simulation(direction, tail):
    generator = np.random.default_rng(3)
    estimate, error, degrees, margin = 0.1, 0.3, 12.0, 1.0
    drawn = estimate + error * generator.standard_normal(200_000)
    spread = error * np.sqrt(generator.chisquare(degrees, 200_000) / degrees)
    from scipy.stats import t

    reach = t.ppf(1 - tail, degrees) * spread
    inside = ((drawn - reach > -margin) & (drawn + reach < margin)).mean()
    chance = chance_decided(
        estimate,
        np.array([error]),
        np.array([degrees]),
        direction=direction,
        margin=margin,
        confidence=0.95,
    )
    assert chance[0] == pytest.approx(inside, abs=0.01)


def test_the_blocks_planned_do_reach_the_power_by_simulation(lab):
    """Lay out the planned study anew many times and judge each by the two-sample t."""
    parts = (
        lab.readings("trophy", 11.25, blocks=3, bores=1, stations=("front",)),
        lab.readings("works", 11, blocks=10, bores=1, stations=("front",)),
    )
    evidence, analysis, claim = situation(lab, *parts)
    found = plan(evidence, analysis, claim, 0.95)
    assert found.of_each is not None
    more = found.of_each
    generator = np.random.default_rng(1)
    spread = math.sqrt(sum(analysis.components.values()))
    ours = generator.normal(analysis.difference.estimate, spread, (4000, 3 + more))
    others = generator.normal(0, spread, (4000, 10 + more))
    from scipy.stats import ttest_ind

    share = float((ttest_ind(ours, others, axis=1).pvalue < 0.05).mean())
    assert share == pytest.approx(POWER, abs=0.06)
    assert share > POWER - 0.02


def test_more_of_the_rare_family_helps_more_than_of_the_common_one(lab):
    parts = (lab.readings("trophy", 11.3, blocks=2), lab.readings("works", 11, blocks=20))
    found = plan(*situation(lab, *parts, margin=0.0), 0.95)
    assert found.candidate_only is not None
    assert found.reference_only is None or found.reference_only > found.candidate_only
    assert found.of_each <= found.candidate_only


def test_a_certain_plan_is_certain_however_far_in_the_tail():
    chance = chance_decided(
        5.0,
        np.array([0.5, 0.05, 0.01, 0.001]),
        np.array([58.0, 60.0, 1198.0, 1e6]),
        direction="greater",
        margin=0.0,
        confidence=0.95,
    )
    assert chance == pytest.approx(np.ones(4))


def test_an_estimate_on_its_margin_cannot_be_settled_by_blocks(lab):
    parts = (lab.readings("trophy", 12, blocks=3), lab.readings("works", 11))
    _, analysis, _ = situation(lab, *parts)
    margin = analysis.difference.estimate
    found = plan(*situation(lab, *parts, margin=margin), 0.95)
    assert (found.candidate_only, found.reference_only, found.of_each) == (None, None, None)
    assert not found.gauge_limited


def test_gauges_that_are_too_uncertain_cannot_be_outvoted_by_blocks(lab):
    gauges = {name: Gauge(unit="mm", uncertainty=0.5) for name in ("ug1", "ug2")}
    parts = (lab.readings("trophy", 11.5, gauge="ug2"), lab.readings("works", 11))
    found = plan(*situation(lab, *parts, gauges=gauges), 0.95)
    assert found.gauge_limited


def test_a_block_claim_is_settled_by_repeats(lab):
    rows = [("trophy", "T1", value) for value in (11.0, 11.2, 11.1, 11.3, 11.0, 11.2, 11.15, 11.05)]
    rows += [("works", "W1", value) for value in (11.0, 11.1, 11.2, 11.1, 11.0, 11.2, 11.0, 11.1)]
    parts = (lab.table(rows, "family block value"),)
    evidence, analysis, claim = situation(lab, *parts, scope="block")
    found = plan(evidence, analysis, claim, 0.95)
    error = analysis.readings_only.standard_error / math.sqrt(found.rounds)
    # by then the estimate lies about 2.8 standard errors from its margin (1.96 + 0.84)
    assert abs(analysis.difference.estimate) / error == pytest.approx(2.8, abs=0.25)


def decision(direction, margin, estimate, error=0.1):
    difference = Difference(
        estimate=estimate, standard_error=error, degrees_of_freedom=math.inf, method="z"
    )
    return decide(difference, direction=direction, margin=margin, confidence=0.95)


@pytest.mark.parametrize(
    ("direction", "margin", "estimate"),
    [
        ("greater", 2.0, 3.0),
        ("greater", 2.0, 1.0),
        ("less", 2.0, -3.0),
        ("less", 2.0, 1.0),
        ("different", 0.0, 1.0),
        ("different", 1.0, 2.0),
        ("different", 1.0, 0.1),
        ("same", 1.0, 0.2),
        ("same", 1.0, -2.0),
    ],
)
def test_shifting_by_less_than_the_slack_keeps_the_outcome_and_by_more_loses_it(
    direction, margin, estimate
):
    found = decision(direction, margin, estimate)
    assert found.outcome != "unresolved"
    room = slack(found, direction, margin)
    assert room > 0
    kept = [decision(direction, margin, estimate + s * room * 0.999) for s in (-1, 1)]
    lost = [decision(direction, margin, estimate + s * room * 1.001) for s in (-1, 1)]
    assert all(one.outcome == found.outcome for one in kept)
    assert any(one.outcome == "unresolved" for one in lost)


def test_the_slack_of_a_supported_claim_is_from_the_interval_to_the_margin():
    reach = Interval(low=2.2, high=3.0, confidence=0.95)
    found = Decision(outcome="supported", interval=reach, inner=None, p_value=0.01, deciding_p=0.01)
    assert slack(found, "greater", 2.0) == pytest.approx(0.2)
