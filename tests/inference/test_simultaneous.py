"""Simultaneous intervals: the share each may err, order kept, refusals."""

import pytest

from workbench.errors import Refusal
from workbench.inference.results import Difference
from workbench.inference.simultaneous import simultaneous_intervals

DECK = Difference(estimate=2.1, standard_error=0.4, degrees_of_freedom=20, method="Welch")
MASS = Difference(estimate=-1.0, standard_error=0.8, degrees_of_freedom=9, method="Welch")
HARD = Difference(estimate=0.3, standard_error=0.1, degrees_of_freedom=40, method="Welch")


def test_each_is_asked_at_its_own_confidence() -> None:
    """Bonferroni shares 5 % by three; Sidak's three together make 95 % when independent."""
    found = simultaneous_intervals([DECK, MASS, HARD])
    assert found.intervals == tuple(d.interval(1 - 0.05 / 3) for d in (DECK, MASS, HARD))
    assert simultaneous_intervals([DECK, MASS], 0.9, "sidak").each ** 2 == pytest.approx(0.9)


def test_one_alone_keeps_its_interval_and_more_are_wider() -> None:
    alone = simultaneous_intervals([DECK])
    assert alone.intervals[0].low == pytest.approx(DECK.interval().low)
    both, sidak = (
        simultaneous_intervals([DECK, MASS]),
        simultaneous_intervals([DECK, MASS], 0.95, "sidak"),
    )
    assert (
        both.intervals[0].half_width > sidak.intervals[0].half_width > alone.intervals[0].half_width
    )


def test_refusals() -> None:
    with pytest.raises(Refusal, match="no figure"):
        simultaneous_intervals([])
    with pytest.raises(Refusal, match="not 'other'"):
        simultaneous_intervals([DECK], 0.95, "other")
    with pytest.raises(Refusal, match="Confidence must lie"):
        simultaneous_intervals([DECK], 2)
