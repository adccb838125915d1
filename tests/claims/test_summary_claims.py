"""Claims that rest on print: Welch and random effects as witnesses, sources named, refusals."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from workbench.records.summary_table import PrintedSummary


def printed(family="export", source="a club leaflet", **given):
    fields = {"quantity": "deck_thickness", "unit": "mm", "n": 20, "mean": 11.0, "sd": 0.3}
    return PrintedSummary(**{"family": family, "source": source, **fields, **given})


@pytest.fixture
def state(lab):
    """Let the study state printed summaries."""

    def stated(*summaries):
        lab.settings = replace(lab.settings, summaries=summaries)
        return lab

    return stated


def codes(verdict):
    return [threat.code for threat in verdict.warnings]


def test_two_printed_families_are_compared_by_welch(state):
    lab = state(printed("trophy", n=12, mean=11.62, sd=0.41), printed("works", "an article", n=31))
    verdict = lab.verdict(lab.cells(lab.readings("other", 5)))
    known = stats.ttest_ind_from_stats(11.62, 0.41, 12, 11.0, 0.3, 31, equal_var=False)
    assert verdict.p_value == pytest.approx(known.pvalue)
    lengths = [0.41**2 / 12, 0.3**2 / 31]
    df = sum(lengths) ** 2 / (lengths[0] ** 2 / 11 + lengths[1] ** 2 / 30)
    reach = stats.t.ppf(0.975, df) * math.sqrt(sum(lengths))
    assert (verdict.low, verdict.high) == pytest.approx((0.62 - reach, 0.62 + reach))
    assert verdict.outcome == "supported"
    assert (verdict.candidate_blocks, verdict.reference_blocks) == (12, 31)
    assert "known only from print (a club leaflet)" in verdict.sentence
    assert "an article" in verdict.sentence
    assert codes(verdict).count("printed_summary") == 2
    assert "no_gauge_uncertainty" in codes(verdict)
    student = stats.ttest_ind_from_stats(11.62, 0.41, 12, 11.0, 0.3, 31, equal_var=True)
    assert verdict.checks[0].p_value == pytest.approx(student.pvalue)


def test_readings_of_one_family_against_print_of_the_other(state):
    lab = state(printed("works"))
    ours = lab.readings("trophy", 12, blocks=6)
    lab.settings = replace(lab.settings, gauges={})
    verdict = lab.verdict(lab.cells(ours))
    means = ours.assign(v=ours["value"].round(2)).groupby("block")["v"].mean()
    known = stats.ttest_ind_from_stats(
        means.mean(), means.std(ddof=1), 6, 11.0, 0.3, 20, equal_var=False
    )
    assert verdict.p_value == pytest.approx(known.pvalue)
    assert verdict.candidate_readings == len(ours)
    assert verdict.reference_readings == 0


def test_the_error_of_the_gauge_and_of_the_source_stay(state):
    lab = state(printed("works", uncertainty=0.04))
    verdict = lab.verdict(lab.cells(lab.readings("trophy", 12, blocks=200)))
    assert verdict.gauge_uncertainty == pytest.approx(math.hypot(0.05, 0.04))
    assert "no_gauge_uncertainty" not in codes(verdict)


def test_one_block_against_a_printed_family_is_the_modified_t(state):
    """Crawford and Howell (1998): t = (x - mean) / (sd sqrt(1 + 1/n)), n - 1 degrees of freedom."""
    lab = state(printed("works", n=14, mean=11.0, sd=0.25))
    lab.settings = replace(lab.settings, gauges={})
    ours = lab.readings("trophy", 12, blocks=1)
    for candidate, reference, sign in (("trophy", "works", 1), ("works", "trophy", -1)):
        verdict = lab.verdict(
            lab.cells(ours), candidate=candidate, reference=reference, direction="different"
        )
        t = (ours["value"].round(2).mean() - 11.0) / (0.25 * math.sqrt(1 + 1 / 14))
        assert verdict.estimate == pytest.approx(sign * (ours["value"].round(2).mean() - 11.0))
        assert verdict.p_value == pytest.approx(2 * stats.t.sf(abs(t), 13))
        assert "one_block" in codes(verdict)


def hartung_knapp(means, errors):
    """Pool by Paule and Mandel with Hartung and Knapp's error, written out anew."""
    low, high = 0.0, 100.0
    for _ in range(200):
        tau2 = (low + high) / 2
        w = 1 / (errors**2 + tau2)
        mean = w @ means / w.sum()
        low, high = (tau2, high) if w @ (means - mean) ** 2 > len(means) - 1 else (low, tau2)
    w = 1 / (errors**2 + tau2)
    mean = w @ means / w.sum()
    q = w @ (means - mean) ** 2 / (len(means) - 1)
    return mean, math.sqrt(max(1.0, q) / w.sum())


def test_sources_of_one_family_are_pooled_by_random_effects(state):
    n, means, sds = np.array([8, 15, 30]), np.array([11.0, 11.4, 11.1]), np.array([0.3, 0.2, 0.4])
    lab = state(
        *(
            printed("works", f"source {i}", n=int(k), mean=float(m), sd=float(s))
            for i, (k, m, s) in enumerate(zip(n, means, sds, strict=True))
        ),
        printed("trophy", "its own", n=9, mean=12.4, sd=0.2),
    )
    verdict = lab.verdict(lab.cells(lab.readings("other", 5)))
    mean, error = hartung_knapp(means, sds / np.sqrt(n))
    assert verdict.estimate == pytest.approx(12.4 - mean, abs=1e-6)
    assert verdict.standard_error == pytest.approx(math.hypot(error, 0.2 / 3), rel=1e-5)
    assert "few_sources" in codes(verdict)
    assert all(f"source {i}" in verdict.sentence for i in range(3))


def test_sources_that_print_both_are_each_compared_with_itself(state):
    """Each source is off by its own amount in both families: that falls out of its difference."""
    shifts = (0.0, 3.0, -4.0, 7.0)
    both = [
        printed(family, f"source {i}", n=20, mean=mean + shift + 0.01 * i * (family == "trophy"),
                sd=0.2)
        for i, shift in enumerate(shifts)
        for family, mean in (("trophy", 11.5), ("works", 11.0))
    ]  # fmt: skip
    lab = state(*both, printed("works", "works alone"))
    verdict = lab.verdict(lab.cells(lab.readings("other", 5)))
    errors = np.full(4, 0.2 * math.sqrt(2 / 20))
    mean, error = hartung_knapp(0.5 + 0.01 * np.arange(4), errors)
    assert verdict.estimate == pytest.approx(mean, abs=1e-9)
    assert verdict.standard_error == pytest.approx(error, rel=1e-6)
    assert verdict.degrees_of_freedom == 3
    assert verdict.outcome == "supported"
    (left,) = (t for t in verdict.warnings if t.code == "sources_left_out")
    assert "works alone" in left.text


def test_sources_that_contradict_each_other_are_said_to(state):
    lab = state(
        printed("works", "one", mean=11.0, sd=0.1),
        printed("works", "two", mean=13.0, sd=0.1),
        printed("trophy", "three", mean=12.5),
    )
    verdict = lab.verdict(lab.cells(lab.readings("other", 5)))
    assert verdict.outcome == "unresolved"
    assert {"sources_differ", "few_sources"} <= set(codes(verdict))
    assert "further sources" in verdict.next_step


def test_a_spread_is_judged_from_printed_deviations(state):
    lab = state(printed("trophy", n=16, sd=0.1), printed("works", "an article", n=25, sd=0.4))
    verdict = lab.verdict(lab.cells(lab.readings("other", 5)), figure="spread", direction="less")
    known = 2 * stats.f.cdf((0.1 / 0.4) ** 2, 15, 24)
    assert verdict.p_value == pytest.approx(known, rel=1e-6)
    assert verdict.outcome == "supported"


def test_swap_units_and_interval_agree(state):
    lab = state(printed("trophy", n=12, mean=11.62, sd=0.41), printed("works", "other", n=31))
    cells = lab.cells(lab.readings("other", 5))
    plain = lab.verdict(cells, direction="different")
    turned = lab.verdict(cells, direction="different", candidate="works", reference="trophy")
    inches = lab.verdict(cells, direction="different", unit="in")
    assert turned.estimate == pytest.approx(-plain.estimate)
    assert turned.p_value == pytest.approx(plain.p_value)
    assert inches.p_value == pytest.approx(plain.p_value)
    assert inches.estimate * 25.4 == pytest.approx(plain.estimate)
    for direction, margin in (("greater", 0.5), ("less", 0.1), ("same", 0.9), ("same", 0.2)):
        verdict = lab.verdict(cells, direction=direction, margin=margin)
        assert (verdict.outcome != "unresolved") == (verdict.deciding_p < 0.05)


def test_own_readings_decide_and_print_stands_beside(state):
    lab = state(printed("works", mean=99.0))
    parts = (lab.readings("trophy", 12), lab.readings("works", 11))
    verdict = lab.verdict(lab.cells(*parts))
    assert abs(verdict.estimate) < 2
    (beside,) = (t for t in verdict.warnings if t.code == "printed_beside")
    assert "a club leaflet" in beside.text
    assert "99 mm" in beside.text


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"scope": "block"}, "summary_tells_no_error"),
        ({"figure": "thinnest"}, "summary_tells_no_places"),
        ({"figure": "share_below", "threshold": 3.0}, "summary_tells_no_places"),
        ({"analysis": "paired_places"}, "analysis_needs_readings"),
        ({"candidate": "absent"}, "no_readings"),
    ],
)
def test_what_print_cannot_tell_is_refused_with_the_reason(state, fields, code):
    lab = state(printed("works"))
    verdict = lab.verdict(lab.cells(lab.readings("trophy", 12)), **fields)
    assert (verdict.outcome, verdict.warnings[0].code) == ("unresolved", code)
    assert verdict.next_step


def test_remembered_ranges_are_compared_in_a_sentence(lab):
    from workbench.records.settings import Remembered

    said = Remembered(who="an old hand", quantity="deck_thickness", family="works", low=0.43,
                      high=0.44, unit="in")  # fmt: skip
    lab.settings = replace(lab.settings, remembered=(said,))
    parts = (lab.readings("trophy", 12), lab.readings("works", 11))
    verdict = lab.verdict(lab.cells(*parts))
    means = parts[1].assign(v=parts[1]["value"].round(2)).groupby("block")["v"].mean() / 25.4
    inside = int(means.between(0.43, 0.44).sum())
    (threat,) = (t for t in verdict.warnings if t.code == "remembered_range")
    below, above = int((means < 0.43).sum()), int((means > 0.44).sum())
    assert f"{inside} have their mean in it, {below} below and {above} above" in threat.text
    assert "without a say" in threat.text
