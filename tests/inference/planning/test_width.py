"""Widths of intervals: drawn studies, the edge of enough, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.planning.layouts import Layout, Precision, Spreads, contrast_precision
from workbench.inference.planning.width import (
    blocks_for_half_width,
    expected_half_width,
    half_width_within,
)

PRECISION = Precision(standard_error=0.3, degrees_of_freedom=7)
SPREADS = Spreads(block=0.4, bore=0.2)


def test_against_drawn_spreads():
    found = 0.3 * np.sqrt(np.random.default_rng(1).chisquare(7, 200_000) / 7)
    widths = stats.t.ppf(0.975, 7) * found
    assert expected_half_width(PRECISION) == pytest.approx(widths.mean(), rel=3e-3)
    for assurance in (0.2, 0.5, 0.9):
        assert half_width_within(PRECISION, assurance=assurance) == pytest.approx(
            np.quantile(widths, assurance), rel=5e-3
        )


def test_a_known_spread_gives_a_known_width():
    known = Precision(standard_error=0.3, degrees_of_freedom=math.inf)
    assert expected_half_width(known) == pytest.approx(0.3 * stats.norm.ppf(0.975))
    assert half_width_within(known, assurance=0.9) == pytest.approx(expected_half_width(known))
    nearly = Precision(standard_error=0.3, degrees_of_freedom=1e7)
    assert expected_half_width(nearly) == pytest.approx(expected_half_width(known), rel=1e-6)


@pytest.mark.parametrize("assurance", [None, 0.5, 0.95])
@pytest.mark.parametrize("add", ["each", "candidate"])
def test_the_answer_is_the_first_that_is_enough(assurance, add):
    found = blocks_for_half_width(
        0.3, SPREADS, bores=2, candidate=5, reference=30, add=add, assurance=assurance, shared=0.02
    )

    def width(more):
        ours, others = 5 + more, 30 + more * (add == "each")
        precision = contrast_precision(
            SPREADS, Layout(blocks=ours, bores=2), Layout(blocks=others, bores=2)
        ).widened(0.02)
        if assurance is None:
            return expected_half_width(precision)
        return half_width_within(precision, assurance=assurance)

    assert width(found) <= 0.3 < width(found - 1)


def test_more_assurance_takes_more_and_never_tells_less():
    counts = [blocks_for_half_width(0.2, SPREADS, assurance=a) for a in (0.1, 0.5, 0.8, 0.99)]
    assert counts == sorted(counts)
    assert blocks_for_half_width(0.2 / 25.4, Spreads(block=0.4 / 25.4, bore=0.2 / 25.4),
                                 assurance=0.8) == counts[2]  # fmt: skip


def test_out_of_reach():
    assert blocks_for_half_width(0.1, SPREADS, shared=0.1) is None
    assert blocks_for_half_width(0.01, SPREADS, most=20) is None
    assert blocks_for_half_width(5.0, SPREADS, candidate=3, reference=4) == 0


def test_refusals():
    with pytest.raises(Refusal, match="half-width is above 0 and finite, not 0"):
        blocks_for_half_width(0, SPREADS)
    with pytest.raises(Refusal, match="add is one of"):
        blocks_for_half_width(1, SPREADS, add="all")
    with pytest.raises(Refusal, match="Blocks measured are 0 or more"):
        blocks_for_half_width(1, SPREADS, reference=-2)
    with pytest.raises(Refusal, match="Assurance must lie between 0 and 1, not at 1"):
        half_width_within(PRECISION, assurance=1)
    with pytest.raises(Refusal, match="Confidence must lie"):
        expected_half_width(PRECISION, 0)
