"""Widths of intervals: drawn studies, the edge of enough, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.planning.layouts import Precision, Spreads
from workbench.inference.planning.width import (
    expected_half_width,
    half_width_within,
    half_widths,
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


def test_many_at_once_as_one_by_one():
    errors, degrees = np.array([0.1, 0.4]), np.array([3.0, 1e9])
    singly = [
        expected_half_width(Precision(standard_error=e, degrees_of_freedom=d), 0.9)
        for e, d in zip(errors, degrees, strict=True)
    ]
    assert half_widths(errors, degrees, 0.9) == pytest.approx(singly)
    assert half_widths(errors / 25.4, degrees, 0.9) * 25.4 == pytest.approx(singly)


def test_refusals():
    with pytest.raises(Refusal, match="Assurance must lie between 0 and 1, not at 1"):
        half_width_within(PRECISION, assurance=1)
    with pytest.raises(Refusal, match="Confidence must lie"):
        expected_half_width(PRECISION, 0)
