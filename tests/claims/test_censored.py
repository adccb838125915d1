"""Readings known only to be not above a value: left out of the mean, and what they could change."""

import pytest

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


def test_of_a_spread_nothing_is_said(lab):
    limited = lab.readings("works", 9.0, blocks=2, within=0.0, contact=BELOW)
    found = warned(lab.verdict(lab.cells(*blocks(lab), limited), figure="spread"))
    assert "censored_readings" in found
    assert "censored_bounds" not in found
