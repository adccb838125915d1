"""All pairs and pairs against a reference: swap, unit, interval against p, refusals."""

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.means.pairwise import dunnett, games_howell, tukey
from workbench.inference.means.pooled import pooled

DECKS = {
    "works": (9.1, 9.4, 8.8, 9.0, 9.3),
    "deep": (9.9, 10.4, 10.0),
    "trophy": (11.0, 9.6, 10.1),
}


def against_works(families):
    return dunnett(families, "works")


ANALYSES = (tukey, games_howell, against_works)


@pytest.mark.parametrize("analysis", [tukey, games_howell])
def test_reversed_families_change_the_sign(analysis) -> None:
    forward = {(p.candidate, p.reference): p for p in analysis(DECKS)}
    for back in analysis(dict(reversed(DECKS.items()))):
        pair = forward[back.reference, back.candidate]
        assert back.estimate == pytest.approx(-pair.estimate)
        assert back.p_value() == pytest.approx(pair.p_value())
        assert back.interval().low == pytest.approx(-pair.interval().high)


def test_mirrored_values_swap_the_one_sided_p() -> None:
    mirrored = {name: -np.array(row) for name, row in DECKS.items()}
    for pair, other in zip(against_works(DECKS), against_works(mirrored), strict=True):
        assert other.p_below(-0.2) == pytest.approx(pair.p_above(0.2), abs=1e-12)


@pytest.mark.parametrize("analysis", ANALYSES)
def test_inches_give_the_same_p(analysis) -> None:
    inches = {name: np.array(row) / 25.4 for name, row in DECKS.items()}
    for metric, other in zip(analysis(DECKS), analysis(inches), strict=True):
        assert other.p_value(0.4 / 25.4) == pytest.approx(metric.p_value(0.4), rel=1e-8)


@pytest.mark.parametrize("analysis", ANALYSES)
@pytest.mark.parametrize("confidence", [0.6, 0.9, 0.99])
def test_the_interval_ends_where_p_says(analysis, confidence: float) -> None:
    for pair in analysis(DECKS):
        found = pair.interval(confidence)
        for end in (found.low, found.high):
            assert pair.p_value(end) == pytest.approx(1 - confidence, rel=1e-5)


def test_two_families_alone_are_the_pooled_t() -> None:
    two = {name: DECKS[name] for name in ("works", "deep")}
    t = pooled(two["deep"], two["works"])
    for (pair,) in (tukey(two), against_works(two)):
        assert pair.statistic() == pytest.approx(t.statistic())
        assert pair.p_value() == pytest.approx(t.p_value(), rel=1e-6)


def test_fewer_comparisons_cost_less() -> None:
    """Against one reference only, each comparison is sharper than among all pairs."""
    wide = {p.candidate: p for p in tukey(DECKS) if p.reference == "works"}
    for pair in against_works(DECKS):
        assert pair.p_value() < wide[pair.candidate].p_value()


def test_the_same_call_gives_the_same_bits() -> None:
    assert [p.p_value() for p in against_works(DECKS)] == [
        p.p_value() for p in against_works(DECKS)
    ]


def test_refusals() -> None:
    with pytest.raises(Refusal, match="'rare' is not among the families"):
        dunnett(DECKS, "rare")
    for analysis in ANALYSES:
        with pytest.raises(Refusal, match="1 families are given"):
            analysis({"works": (1, 2)})
    with pytest.raises(Refusal, match="family 'deep' holds 1 number"):
        games_howell({"works": (1, 2), "deep": (3,)})
    with pytest.raises(Refusal, match="No family shows any spread"):
        tukey({"works": (1, 1), "deep": (3, 3)})
    for pair in (*tukey(DECKS), *against_works(DECKS)):
        with pytest.raises(Refusal, match="Confidence must lie"):
            pair.interval(1)
