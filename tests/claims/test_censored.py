"""Readings known only to be not above a value: left out of the mean, and what they could change."""

import itertools

import numpy as np
import pytest
from scipy.optimize import minimize

from workbench.claims import censored_spreads
from workbench.records.columns import BELOW


def warned(verdict):
    return {threat.code: threat.text for threat in verdict.warnings}


def blocks(lab, **given):
    return [lab.readings("trophy", 12.0, **given), lab.readings("works", 11.0, **given)]


def as_read(part, value):
    return part.assign(value=value)


@pytest.mark.parametrize("scope", ["family", "block"])
def test_the_bounds_are_those_of_readings_at_either_end(lab, scope):
    """Judged anew with the readings written as nought, and as their limit: the same numbers."""
    given = {"repeats": 2}
    limited = lab.readings("works", 9.0, blocks=2, bores=1, within=0.0, contact=BELOW)
    limited = as_read(limited, 9.0).assign(bore="3")
    verdict = lab.verdict(lab.cells(*blocks(lab, **given), limited), scope=scope)
    plain = lab.verdict(lab.cells(*blocks(lab, **given)), scope=scope)
    assert verdict.estimate == plain.estimate
    ends = [
        lab.verdict(
            lab.cells(*blocks(lab, **given), as_read(limited, value).assign(contact="good")),
            scope=scope,
        ).estimate
        for value in (9.0, 0.0)
    ]
    text = warned(verdict)["censored_bounds"]
    said = [float(word.strip(";")) for word in text.split() if word[0].isdigit()]
    assert said == pytest.approx(sorted(ends), abs=0.05)
    assert said[1] > said[0] > plain.estimate  # works blocks can only be thinner than was seen


def test_the_verdict_that_stands_at_both_ends_is_said_to(lab):
    limited = lab.readings("works", 9.0, blocks=1, bores=1, within=0.0, contact=BELOW)
    verdict = lab.verdict(lab.cells(*blocks(lab), limited), scope="block")
    assert verdict.outcome == "supported"
    assert "the verdict is the same at both ends" in warned(verdict)["censored_bounds"]


def test_the_verdict_that_leans_on_them_is_said_to(lab):
    limited = lab.readings("trophy", 9.0, blocks=6, within=0.0, contact=BELOW)
    verdict = lab.verdict(lab.cells(*blocks(lab), limited))
    assert verdict.outcome == "supported"
    text = warned(verdict)["censored_bounds"]
    assert "leans on where they lie" in text
    assert "unresolved" in text or "contradicted" in text


def test_the_same_in_inches(lab):
    limited = lab.readings("works", 7.62, blocks=2, bores=1, within=0.0, between=0.0,
                           bore_spread=0.0, stations=("front",), contact=BELOW)  # fmt: skip
    parts = [*blocks(lab), limited]
    metric = lab.verdict(lab.cells(*parts, step=1e-5))
    inches = [part.assign(value=part["value"] / 25.4, unit="in") for part in parts]
    imperial = lab.verdict(lab.cells(*inches, step=1e-6), unit="in")
    assert ("same at both ends" in warned(metric)["censored_bounds"]) == (
        "same at both ends" in warned(imperial)["censored_bounds"]
    )


def test_nothing_censored_nothing_said(lab):
    assert "censored_bounds" not in warned(lab.verdict(lab.cells(*blocks(lab))))


def test_ends_that_cannot_be_judged_are_said_to_be(lab):
    """One block each, without repeats or stated uncertainty: the judgement itself is refused."""
    parts = [
        lab.readings(family, mean, blocks=1, bores=1, stations=("front",), gauge="")
        for family, mean in (("trophy", 12.0), ("works", 11.0))
    ]
    limited = parts[1].assign(value=9.0, contact=BELOW)
    verdict = lab.verdict(lab.cells(*parts, limited))
    assert verdict.outcome == "unresolved"
    assert "censored_readings" in warned(verdict)


def test_a_share_below_counts_them_where_they_may_be(lab):
    """Works places at a limit below the threshold are below it wherever they lie."""
    parts = [lab.readings("trophy", 12.0, repeats=2), lab.readings("works", 11.0, repeats=2)]
    limited = lab.readings("works", 9.0, blocks=3, within=0.0, contact=BELOW).assign(bore="3")
    given = {"figure": "share_below", "threshold": 10.5, "direction": "less"}
    verdict = lab.verdict(lab.cells(*parts, limited), **given)
    text = warned(verdict)["censored_bounds"]
    assert "percentage points" in text
    ends = [
        lab.verdict(
            lab.cells(*parts, limited.assign(value=value, contact="good")), **given
        ).estimate
        for value in (9.0, 0.0)
    ]
    said = [float(word.strip(";")) for word in text.split() if word.lstrip("-")[0].isdigit()]
    assert said == pytest.approx(sorted({round(100 * end, 1) for end in ends}), abs=0.1)
    assert max(said) <= verdict.estimate + 0.02


@pytest.mark.parametrize("scope", ["family", "block"])
def test_a_spread_is_bounded_wherever_they_may_lie(lab, scope):
    """Judged anew with each reading drawn between nought and its limit: never beyond the bounds.

    Of two limited blocks all four choices of ends are made too; two of them reach the bounds.
    """
    whole = [
        lab.readings(name, mean, repeats=2) for name, mean in (("trophy", 12.0), ("works", 11.0))
    ]
    limited = lab.readings("works", 9.0, blocks=2, within=0.0, contact=BELOW).assign(
        bore="3", value=9.0
    )
    given = {"figure": "spread", "scope": scope}
    text = warned(lab.verdict(lab.cells(*whole, limited), **given))["censored_bounds"]
    said = [float(word.strip(";")) for word in text.split() if word.lstrip("-")[0].isdigit()]
    names = sorted(limited["block"].unique())
    generator = np.random.default_rng(20261125)
    choices = [*itertools.product((0.0, 9.0), repeat=2), *generator.uniform(0, 9, (4, 2))]
    found = []
    for choice in choices:
        value = limited["block"].map(dict(zip(names, choice, strict=True)))
        seen = limited.assign(value=value.round(2), contact="good")
        found.append(lab.verdict(lab.cells(*whole, seen), **given).estimate)
    assert said[0] - 0.02 <= min(found)
    assert max(found) <= said[1] + 0.02
    assert said[0] == pytest.approx(min(found), abs=0.1)


@pytest.mark.parametrize("most_tried", [12, 0])
def test_spreads_of_numbers_between_their_ends(monkeypatch, most_tried):
    """The greatest by all choices of ends, the least by a general minimiser over the box."""
    monkeypatch.setattr(censored_spreads, "MOST_TRIED", most_tried)
    generator = np.random.default_rng(20261125)
    for _ in range(40):
        low = generator.normal(size=generator.integers(2, 7))
        high = low + generator.exponential(size=low.size) * (generator.random(low.size) < 0.6)
        pairs = list(zip(low, high, strict=True))
        corners = [np.std(corner, ddof=1) for corner in itertools.product(*pairs)]
        greatest = censored_spreads.greatest_deviation(low, high)
        if most_tried:
            assert greatest == pytest.approx(max(corners))
        else:
            assert greatest >= max(corners) - 1e-9
        by_descent = minimize(
            lambda x: np.var(x, ddof=1), (low + high) / 2, bounds=pairs, tol=1e-14
        )
        least = censored_spreads.least_deviation(low, high)
        assert least == pytest.approx(float(np.sqrt(max(by_descent.fun, 0))), abs=2e-3)
