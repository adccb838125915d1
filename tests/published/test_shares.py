"""Shares and their differences against printed tables."""

import math

import pytest

from workbench.inference.shares.count import Count, share_against, share_bound, share_interval
from workbench.inference.shares.difference import share_difference, share_difference_interval

# Newcombe (1998), Statistics in Medicine 17, 857-872, table I (printed values from memory).
ONE_SHARE = {
    (81, 263): ((0.2553, 0.3662), (0.2527, 0.3676)),
    (15, 148): ((0.0624, 0.1605), (0.0578, 0.1617)),
    (0, 20): ((0.0000, 0.1611), (0.0000, 0.1684)),
    (1, 29): ((0.0061, 0.1718), (0.0009, 0.1776)),
}

# Newcombe (1998), Statistics in Medicine 17, 873-890, table II, method 10 (read in public tests).
NEWCOMBE = {
    (56, 70, 48, 80): (0.0524, 0.3339),
    (9, 10, 3, 10): (0.1705, 0.8090),
    (6, 7, 2, 7): (0.0582, 0.8062),
    (5, 56, 0, 29): (-0.0381, 0.1926),
    (0, 10, 0, 20): (-0.1611, 0.2775),
    (0, 10, 0, 10): (-0.2775, 0.2775),
    (10, 10, 0, 20): (0.6791, 1.0),
    (10, 10, 0, 10): (0.6075, 1.0),
}

# The same table, methods 5 (Mee) and 6, for (a), (b) and (g); digits read in a public R package.
SCORE = {
    "farrington-manning": ((0.0533, 0.3377), (0.1821, 0.8370), (0.7225, 1.0)),
    "miettinen-nurminen": ((0.0528, 0.3382), (0.1700, 0.8406), (0.7156, 1.0)),
}
SCORED = ((56, 70, 48, 80), (9, 10, 3, 10), (10, 10, 0, 20))


def pair(table: tuple[int, int, int, int]) -> tuple[Count, Count]:
    return Count(yes=table[0], of=table[1]), Count(yes=table[2], of=table[3])


@pytest.mark.parametrize(("counts", "printed"), ONE_SHARE.items())
def test_one_share_against_newcombe(counts, printed) -> None:
    count = Count(yes=counts[0], of=counts[1])
    for method, limits in zip(("wilson", "clopper-pearson"), printed, strict=True):
        found = share_interval(count, 0.95, method)
        assert (found.low, found.high) == pytest.approx(limits, abs=6e-5)


@pytest.mark.parametrize(("table", "limits"), NEWCOMBE.items())
def test_difference_against_newcombe(table, limits) -> None:
    found = share_difference_interval(*pair(table))
    assert (found.low, found.high) == pytest.approx(limits, abs=6e-5)


@pytest.mark.parametrize("method", SCORE)
def test_score_interval_against_newcombe(method) -> None:
    for table, limits in zip(SCORED, SCORE[method], strict=True):
        found = share_difference(*pair(table), method).interval()
        assert (found.low, found.high) == pytest.approx(limits, abs=6e-5)


def test_non_inferiority_of_a_share() -> None:
    """Rodary et al. (1989), 83/88 against 69/76, margin 10 points; z by Farrington & Manning.

    Inputs read in the help of an R package; z and p recomputed, not read in the papers.
    """
    apart = share_difference(*pair((83, 88, 69, 76)))
    assert apart.estimate == pytest.approx(0.0353, abs=5e-5)
    assert apart.statistic(-0.10) == pytest.approx(2.957, abs=5e-4)
    assert apart.p_above(-0.10) == pytest.approx(0.00155, abs=5e-6)


def test_mendels_peas() -> None:
    """Conover (1971), p. 97; R binom.test: p = 0.3825, 0.7076683 to 0.7654066 (from memory)."""
    tested = share_against(Count(yes=682, of=925), 0.75)
    assert tested.p_value == pytest.approx(0.3825, abs=5e-5)
    found = tested.interval()
    assert (found.low, found.high) == pytest.approx((0.7076683, 0.7654066), abs=5e-8)


def test_no_failure_in_59() -> None:
    """Hanley & Lippman-Hand (1983) and the success-run theorem (from memory)."""
    assert share_bound(Count(yes=0, of=59)).high == pytest.approx(0.0495, abs=5e-5)
    assert share_bound(Count(yes=0, of=59)).high == pytest.approx(3 / 59, abs=0.002)
    for share, confidence, blocks in ((0.05, 0.95, 59), (0.10, 0.90, 22)):
        assert share_bound(Count(yes=0, of=blocks), confidence).high <= share
        assert share_bound(Count(yes=0, of=blocks - 1), confidence).high > share


def test_lower_bound_mirrors_the_upper() -> None:
    sound, cracked = Count(yes=59, of=59), Count(yes=0, of=59)
    assert share_bound(sound, side="lower").low == pytest.approx(1 - share_bound(cracked).high)
    assert share_bound(sound, side="lower").low == pytest.approx(math.pow(0.05, 1 / 59))
