"""An error shared by all numbers, added to answers that have no standard error."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import norm

from workbench.errors import Refusal
from workbench.inference.ranks.mann_whitney import mann_whitney
from workbench.inference.results import Difference
from workbench.inference.widened import WidenedAnswer, rival

PLAIN = Difference(estimate=0.4, standard_error=0.3, degrees_of_freedom=math.inf, method="z")


def test_normal_errors_add_as_variances() -> None:
    """Closed form: normal with variance 0.3 squared and 0.4 squared is normal with 0.5 squared."""
    found = WidenedAnswer(answer=PLAIN, uncertainty=0.4)
    for confidence in (0.5, 0.9, 0.95, 0.99):
        half = 0.5 * norm.ppf((1 + confidence) / 2)
        ends = found.interval(confidence)
        assert (ends.low, ends.high) == pytest.approx((0.4 - half, 0.4 + half))
    for margin in (-1.0, 0.0, 0.39, 0.41, 0.9, 2.0):
        z = (0.4 - margin) / 0.5
        assert found.p_above(margin) == pytest.approx(norm.sf(z), rel=1e-6)
        assert found.p_below(margin) == pytest.approx(norm.cdf(z), rel=1e-6)
        assert found.p_value(margin) == pytest.approx(2 * norm.sf(abs(z)), rel=1e-6)


def test_an_answer_by_ranks_keeps_its_open_ends_and_agrees_with_its_p() -> None:
    few = mann_whitney([5.1, 5.3], [5.0, 5.2])
    found = WidenedAnswer(answer=few, uncertainty=0.1, degrees_of_freedom=4)
    assert (found.interval().low, found.interval().high) == (-math.inf, math.inf)
    generator = np.random.default_rng(1)
    ranks = mann_whitney(generator.normal(0.3, 1, 12), generator.normal(0, 1, 15))
    wide = WidenedAnswer(answer=ranks, uncertainty=0.2, degrees_of_freedom=9)
    for margin in np.linspace(-1.5, 2.0, 15):
        ends = wide.interval(0.95)
        assert (ends.low <= margin <= ends.high) == (wide.p_value(margin) >= 0.05)
        assert wide.p_value(margin) >= 0.6 * ranks.p_value(margin)


def test_a_rival_widened_answers_wider_and_by_nothing_is_itself() -> None:
    answer = mann_whitney([5.1, 5.3, 5.2, 5.6, 5.4], [5.0, 5.2, 4.9, 5.15, 5.05])
    found = rival(answer, standard_error=0.1, degrees_of_freedom=8.0, method="ranks")
    assert found.interval() == answer.interval()
    assert (found.p_value(), found.p_above(0.1)) == (answer.p_value(), answer.p_above(0.1))
    assert found.p_below(0.1) == answer.p_below(0.1)
    assert found.widened(0.0) is found
    wide = found.widened(0.2)
    assert wide.standard_error == pytest.approx(math.hypot(0.1, 0.2))
    assert wide.interval().low < found.interval().low


def test_refusals() -> None:
    few = mann_whitney([5.1], [5.0])
    with pytest.raises(Refusal, match="too few for this analysis"):
        rival(few, standard_error=0.1, degrees_of_freedom=1.0, method="ranks")
    answer = mann_whitney([5.1, 5.3, 5.2], [5.0, 5.2, 4.9])
    found = rival(answer, standard_error=0.1, degrees_of_freedom=4.0, method="ranks")
    with pytest.raises(Refusal, match="0 or more"):
        found.widened(-1.0)
    with pytest.raises(Refusal, match="Confidence must lie"):
        WidenedAnswer(answer=answer, uncertainty=0.1).interval(1.0)
