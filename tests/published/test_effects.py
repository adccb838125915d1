"""Effect sizes and single cases against printed examples and R."""

import pytest

from workbench.inference.means.effects import hedges
from workbench.inference.means.single_case import single_case
from workbench.inference.means.welch import Summary
from workbench.inference.ranks.exceedance import chance_of_exceeding, cliffs_delta

# Hassan et al. (2020), size-weight illusion, worked in Rittmo & McIntosh (2021), JOSS 6(68), 3887
# and the public README of their package (data read there).
CONTROLS = (
    0.216926341, 0.172232265, 0.071380492, 0.101864526, 0.159114395, 0.268098996, 0.196956871,
    0.107363516, 0.189501693, 0.071115443, 0.087373607, 0.063444347, 0.283469193, 0.160558856,
    0.146608828, 0.267570999, 0.175396452, 0.072310995, 0.130916113, 0.061982167, 0.119679948,
    0.357596856, 0.193059449, 0.129308068, 0.302409279, 0.185339006, 0.135731726, 0.182150464,
)  # fmt: skip
CASE = 0.028149213


def test_hedges_as_printed() -> None:
    """Borenstein et al. (2009), Introduction to Meta-Analysis, pp. 25-29 (from memory)."""
    found = hedges(Summary(n=50, mean=103, sd=5.5), Summary(n=50, mean=100, sd=4.5))
    assert found.spread == pytest.approx(5.0249, abs=5e-5)
    assert found.uncorrected == pytest.approx(0.5970, abs=5e-5)
    assert found.correction == pytest.approx(0.9923, abs=5e-5)
    assert found.estimate == pytest.approx(0.5924, abs=5e-5)
    assert found.standard_error == pytest.approx(0.2028, abs=5e-5)


def test_standardised_interval_against_r(printed_by_r) -> None:
    found = hedges(Summary(n=12, mean=9.9, sd=0.7), Summary(n=9, mean=9.1, sd=0.7)).interval()
    assert (found.low, found.high) == pytest.approx(printed_by_r("effects")["delta_95"], rel=1e-8)


def test_cliffs_delta_as_printed() -> None:
    """Hogarty & Kromrey (1999), data named in a public R package; interval from memory."""
    treated, control = [10, 10, 20, 20, 20, 30, 30, 30, 40, 50], [10, 20, 30, 40, 40, 50]
    found = cliffs_delta(treated, control)
    interval = found.interval()
    assert found.estimate == -0.25
    assert (interval.low, interval.high) == pytest.approx((-0.7265846, 0.3890062), abs=5e-8)


def test_heights_of_men_and_women() -> None:
    """McGraw & Wong (1992), Psychological Bulletin 111, 361-365 (from memory): z 1.41, 0.92."""
    found = chance_of_exceeding(
        Summary(n=100, mean=69.7, sd=2.8), Summary(n=100, mean=64.3, sd=2.6)
    )
    assert found.distance == pytest.approx(1.41, abs=5e-3)
    assert found.estimate == pytest.approx(0.92, abs=5e-3)


def test_chance_of_exceeding_against_r(printed_by_r) -> None:
    found = chance_of_exceeding(Summary(n=12, mean=9.9, sd=0.9), Summary(n=9, mean=9.1, sd=0.4))
    interval = found.interval()
    assert (interval.low, interval.high) == pytest.approx(
        printed_by_r("effects")["exceeding_95"], rel=1e-8
    )


def test_size_weight_illusion() -> None:
    """The README's percent limits 0.95 to 12.47 come from a coarse grid; exact 0.956 to 12.438."""
    found = single_case(CASE, CONTROLS)
    distance, share = found.standardised_interval(), found.share_below_interval()
    assert found.statistic == pytest.approx(-1.7243, abs=5e-5)
    assert found.difference.degrees_of_freedom == 27
    assert found.share_below == pytest.approx(0.04804, abs=5e-6)
    assert 100 * found.share_below == pytest.approx(4.804003, abs=5e-7)
    assert found.standardised == pytest.approx(-1.754857, abs=5e-7)
    assert (distance.low, distance.high) == pytest.approx((-2.34, -1.15), abs=5e-3)
    assert (100 * share.low, 100 * share.high) == pytest.approx((0.956, 12.438), abs=5e-4)


def test_case_against_r(printed_by_r) -> None:
    found = single_case(0.3, Summary(n=8, mean=1.1, sd=0.5))
    interval = found.share_below_interval(0.90)
    assert (found.statistic, found.share_below, interval.low, interval.high) == pytest.approx(
        printed_by_r("effects")["case_t_share_low_high_90"], rel=1e-8
    )


@pytest.mark.parametrize(
    ("n", "share", "confidence", "factor"),
    [
        # One-sided normal tolerance factors: Odeh & Owen (1980), table 1; ISO 16269-6 (memory).
        (5, 0.95, 0.95, 4.203),
        (10, 0.90, 0.95, 2.355),
        (12, 0.95, 0.95, 2.736),
        (30, 0.95, 0.95, 2.220),
        (20, 0.99, 0.95, 3.295),
    ],
)
def test_a_block_at_the_tolerance_limit(n, share, confidence, factor) -> None:
    """A block k sd below the mean: with that confidence at most 1 - share of them lie lower."""
    found = single_case(-factor, Summary(n=n, mean=0, sd=1))
    high = found.share_below_interval(2 * confidence - 1).high
    assert high == pytest.approx(1 - share, rel=1e-3)
    sure = chance_of_exceeding(Summary(n=n, mean=0, sd=1), Summary(n=10**9, mean=-factor, sd=1e-9))
    assert sure.interval(2 * confidence - 1).low == pytest.approx(share, rel=1e-3)
