"""The verdicts on the demo study agree with the truth planted in it."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable
from types import ModuleType

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import rice

from workbench.claims.judgement import Judgement
from workbench.claims.verdict import Verdict
from workbench.study import Study


@pytest.fixture(scope="module")
def study(shipped_study: Callable[[str], Study]) -> Study:
    return shipped_study("demo")


@pytest.fixture(scope="module")
def judgement(judged: Callable[[str], Judgement]) -> Judgement:
    return judged("demo")


def verdict_on(judgement: Judgement, claim: str) -> Verdict:
    return next(verdict for verdict in judgement.verdicts if verdict.claim == claim)


def holds(verdict: Verdict, marlowe_four: ModuleType) -> bool:
    """Say whether a claim on a mean is true of the families, or of the blocks that were cast."""
    if verdict.quantity == "core_shift":
        truth = mean_shift(marlowe_four, verdict.candidate)
        truth -= mean_shift(marlowe_four, verdict.reference)
    elif verdict.scope == "family":
        truth = marlowe_four.TRUTH.difference(
            verdict.quantity, verdict.candidate, verdict.reference
        )
    else:
        truth = marlowe_four.cast_mean(verdict.quantity, verdict.candidate)
        truth -= marlowe_four.cast_mean(verdict.quantity, verdict.reference)
    return {
        "greater": truth > verdict.margin,
        "less": truth < -verdict.margin,
        "different": abs(truth) > verdict.margin,
        "same": abs(truth) < verdict.margin,
    }[str(verdict.direction)]


def mean_shift(marlowe_four: ModuleType, family: str) -> float:
    """Give the planted mean length of a bore's shift: Rice, blocks and bores scattering together.

    Tilts are as much one way above the middle as the other way below it, and drop out.
    """
    shift = marlowe_four.TRUTH.shifts[family]
    sd = math.hypot(shift.block, shift.bore)
    return float(rice.mean(math.hypot(*shift.mean) / sd, scale=sd))


def test_no_decided_claim_is_decided_wrongly(
    judgement: Judgement, marlowe_four: ModuleType
) -> None:
    decided = [
        v
        for v in judgement.verdicts
        if v.figure == "mean" and v.outcome != "unresolved" and v.candidate in marlowe_four.BLOCKS
    ]
    for verdict in decided:
        assert holds(verdict, marlowe_four) == (verdict.outcome == "supported"), verdict.claim


def test_claims_come_out_each_of_the_three_ways(judgement: Judgement) -> None:
    of_means = [verdict for verdict in judgement.verdicts if verdict.figure == "mean"]
    assert Counter(verdict.outcome for verdict in of_means) == {
        "supported": 9,
        "contradicted": 2,
        "unresolved": 2,
    }
    assert {verdict.direction for verdict in of_means} == {"greater", "less", "same", "different"}
    assert {verdict.scope for verdict in of_means} == {"family", "block"}


def test_confounded_claim_carries_its_warning_and_no_other_does(judgement: Judgement) -> None:
    warned = [
        verdict.claim
        for verdict in judgement.verdicts
        if "single_gauge_each" in {threat.code for threat in verdict.warnings}
    ]
    assert warned == ["deepdeck-webs-thicker"]
    codes = {threat.code for threat in verdict_on(judgement, warned[0]).warnings}
    assert "calibration_each" in codes


def test_searched_and_doubtful_readings_are_left_out_and_said(judgement: Judgement) -> None:
    codes = {threat.code for threat in verdict_on(judgement, "deepdeck-walls-same").warnings}
    assert {"searched_excluded", "doubtful_excluded"} <= codes


def test_three_trophy_blocks_are_called_few(judgement: Judgement) -> None:
    verdict = verdict_on(judgement, "deck-thicker")
    assert verdict.candidate_blocks == 3
    assert "few_blocks" in {threat.code for threat in verdict.warnings}


def many_blocks(marlowe_four: ModuleType, family: str, count: int = 20_000) -> NDArray[np.float64]:
    """Draw walls of blocks as planted: one number a block, bore, depth and station."""
    truth, rng = marlowe_four.TRUTH, np.random.default_rng([7, *family.encode()])
    spread, shift = truth.spreads["wall_thickness"], truth.shifts[family]
    bores, depths = len(marlowe_four.BORES), len(marlowe_four.DEPTHS)
    walls = truth.means["wall_thickness"][family] + spread.block * rng.standard_normal((count, 1))
    walls = walls + spread.bore * rng.standard_normal((count, bores))
    walls = walls[..., None, None] + np.zeros((depths, len(marlowe_four.STATIONS)))
    walls += spread.place * rng.standard_normal(walls.shape)
    walls += np.array(list(truth.depths.values()))[:, None]
    walls += np.array(list(truth.stations.values()))
    angles = np.radians(list(marlowe_four.STATIONS.values()))
    for axis, mean in enumerate(shift.mean):
        whole = mean + shift.block * rng.standard_normal((count, 1))
        centre = (whole + shift.bore * rng.standard_normal((count, bores)))[..., None]
        lean = shift.tilt * rng.standard_normal((count, bores, 1))
        centre = centre + lean * np.array(list(marlowe_four.DEPTHS.values()))
        walls -= centre[..., None] * (np.sin(angles) if axis else np.cos(angles))
    return walls


def test_the_drawn_blocks_are_those_of_the_generator(marlowe_four: ModuleType) -> None:
    """Held against the castings themselves: mean and spread of works walls."""
    drawn = many_blocks(marlowe_four, "works")
    mine = [
        np.array(list(marlowe_four.iron(block, "wall_thickness").values()))
        for block in marlowe_four.blocks()
        if block.family == "works"
    ]
    assert np.mean(mine) == pytest.approx(drawn.mean(), abs=0.1)
    assert np.std(mine) == pytest.approx(drawn.std(), rel=0.1)
    least = np.array([row.min() for row in mine])
    assert least.mean() == pytest.approx(drawn.min(axis=(1, 2, 3)).mean(), abs=0.12)


def planted_figure(verdict: Verdict, marlowe_four: ModuleType) -> float:
    """Give the planted difference of a spread, a thinnest place or a share below."""
    families = (verdict.candidate, verdict.reference)
    if verdict.figure == "spread":
        return 0.0  # one spread of each quantity is planted for all families
    drawn = [many_blocks(marlowe_four, family) for family in families]
    if verdict.figure == "thinnest":
        ours, others = (float(walls.min(axis=(1, 2, 3)).mean()) for walls in drawn)
    else:
        ours, others = (float((walls < verdict.threshold).mean()) for walls in drawn)
    return ours - others


@pytest.mark.parametrize("figure", ["spread", "thinnest", "share_below"])
def test_other_figures_are_judged_as_planted(
    judgement: Judgement, marlowe_four: ModuleType, figure: str
) -> None:
    """The interval at 99 % would hold the truth; a decided claim is decided as it is planted."""
    asked = [
        verdict
        for verdict in judgement.verdicts
        if verdict.figure == figure and verdict.quantity != "core_shift"
    ]
    assert {"supported", "unresolved"} <= {verdict.outcome for verdict in asked}
    for verdict in asked:
        truth = planted_figure(verdict, marlowe_four)
        wider = 1.5 * (verdict.high - verdict.low) / 2
        middle = (verdict.high + verdict.low) / 2
        assert abs(truth - middle) < wider, verdict.claim
        holds = {
            "greater": truth > verdict.margin,
            "less": truth < -verdict.margin,
            "same": abs(truth) < verdict.margin,
            "different": abs(truth) > verdict.margin,
        }[str(verdict.direction)]
        if verdict.outcome != "unresolved":
            assert holds == (verdict.outcome == "supported"), verdict.claim


def test_the_family_known_from_print_is_judged_by_what_is_printed(judgement: Judgement) -> None:
    verdict = verdict_on(judgement, "export-less-deck")
    assert (verdict.outcome, verdict.reference_blocks) == ("supported", 3)
    assert (verdict.candidate_blocks, verdict.candidate_readings) == (23, 0)
    assert "known only from print" in verdict.sentence
    assert "an invented magazine" in verdict.sentence
    assert "printed_summary" in {threat.code for threat in verdict.warnings}
