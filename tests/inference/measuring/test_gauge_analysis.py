"""Analyses of gauge studies: methods agree, pooling, nesting, refusals."""

from __future__ import annotations

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.measuring.gauge_analysis import gauge_study


def rng() -> np.random.Generator:
    return np.random.default_rng(1)


def crossed(
    seed: int, parts: int = 10, people: int = 3, repeats: int = 2, interaction: float = 0.0
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    generator = np.random.default_rng(seed)
    part, person, _ = np.indices((parts, people, repeats)).reshape(3, -1)
    y = (
        generator.normal(0, 1.0, parts)[part]
        + generator.normal(0, 0.3, people)[person]
        + generator.normal(0, interaction, (parts, people))[part, person]
        + generator.normal(7, 0.2, part.size)
    )
    return part, y, person


def test_likelihood_agrees_with_moments_where_both_answer() -> None:
    """One reading struck out of many moves the answer little, though the method changes."""
    part, y, person = crossed(3, parts=12, repeats=3)
    balanced = gauge_study(part, y, person)
    keep = np.arange(y.size) != 40
    uneven = gauge_study(part[keep], y[keep], person[keep])
    assert balanced.method.startswith("analysis of variance")
    assert uneven.method == "restricted maximum likelihood"
    for figure in ("part", "gauge", "repeatability"):
        assert uneven.sd(figure) == pytest.approx(balanced.sd(figure), rel=0.05)
        low, high = uneven.interval(figure).low, uneven.interval(figure).high
        assert low == pytest.approx(balanced.interval(figure).low, rel=0.15)
        assert low < uneven.sd(figure) < high
    assert uneven.share_interval("part", generator=rng()).contains(uneven.share("part"))


def test_interaction_is_pooled_by_its_p_and_only_when_asked() -> None:
    part, y, person = crossed(4)
    pooled, kept = gauge_study(part, y, person), gauge_study(part, y, person, pool_above=1.0)
    assert pooled.pooled
    assert pooled.interaction_p > 0.25
    assert "part by operator" not in pooled.components
    assert "part by operator" in kept.components
    assert pooled.mean_squares["repeatability"].degrees_of_freedom == 48
    assert kept.mean_squares["repeatability"].degrees_of_freedom == 30


def test_parts_within_operators() -> None:
    """Labels of parts may come again with another operator; the rows' order does not matter."""
    part, y, person = crossed(5, parts=5)
    once = gauge_study(part, y, person, design="nested")
    apart = gauge_study(part + 100 * person, y, person, design="nested")
    assert once.components == pytest.approx(apart.components)
    assert once.parts == 15
    order = rng().permutation(y.size)
    again = gauge_study(part[order], y[order], person[order], design="nested")
    assert again.components == pytest.approx(once.components)


def test_what_is_refused() -> None:
    part, y, person = crossed(8)
    with pytest.raises(Refusal, match="crossed or nested, not 'latin'"):
        gauge_study(part, y, person, design="latin")  # type: ignore[arg-type]
    with pytest.raises(Refusal, match="There is 1 operator"):
        gauge_study(part, y, np.zeros(y.size))
    with pytest.raises(Refusal, match="There is 1 part"):
        gauge_study(np.zeros(y.size), y, person)
    with pytest.raises(Refusal, match="Nobody read a part twice"):
        gauge_study(part[::2], y[::2], person[::2])
    with pytest.raises(Refusal, match="readings are equal"):
        gauge_study(part, np.full(y.size, 3.0), person)
    with pytest.raises(Refusal, match="3 of one and 60 of the other"):
        gauge_study([1, 2, 3], y)
