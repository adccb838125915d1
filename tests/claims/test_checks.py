"""The two analyses beside the nested model."""

import math

import pytest

from workbench.claims.analysis import analyse
from workbench.claims.checks import PERMUTATION, WELCH, checks_beside, disagreeing
from workbench.claims.evidence import gather
from workbench.inference.means.welch import Summary, welch


def checks(lab, *parts, scope="family", seed=(1,), **fields):
    claim = lab.claim(scope=scope, **fields)
    evidence = gather(
        lab.cells(*parts),
        quantity=claim.quantity,
        candidate=claim.candidate,
        reference=claim.reference,
        unit=claim.unit,
    )
    analysis = analyse(evidence, lab.settings.gauges, scope)
    found = {check.name: check for check in checks_beside(analysis, claim, 0.95, seed)}
    return analysis, found[WELCH], found[PERMUTATION]


def test_both_come_to_the_outcome_of_a_plain_difference(lab):
    parts = (lab.readings("trophy", 13, blocks=4), lab.readings("works", 11, blocks=8))
    analysis, by_welch, dealt = checks(lab, *parts, margin=0.5)
    assert by_welch.outcome == dealt.outcome == "supported"
    assert by_welch.estimate == pytest.approx(analysis.difference.estimate, abs=1e-6)
    assert dealt.note == "all 495 arrangements"
    assert disagreeing((by_welch, dealt), "supported") == ()
    assert disagreeing((by_welch, dealt), "unresolved") == (by_welch, dealt)


def test_welch_is_that_of_the_block_means(lab):
    parts = (lab.readings("trophy", 12, blocks=4), lab.readings("works", 11, blocks=8))
    analysis, by_welch, _ = checks(lab, *parts)
    wanted = welch(
        Summary.of(analysis.means_of("trophy")), Summary.of(analysis.means_of("works"))
    ).interval(0.95)
    assert (by_welch.low, by_welch.high) == (wanted.low, wanted.high)


@pytest.mark.parametrize("blocks", [3, 8])
@pytest.mark.parametrize("figure", ["mean", "spread", "thinnest"])
def test_what_families_are_called_changes_no_number(lab, blocks, figure):
    """Neither which name comes first in the alphabet, nor which family is the candidate's."""
    trophy = lab.readings("trophy", 13, blocks=blocks, between=0.3)
    works = lab.readings("works", 11, blocks=9)
    cells = lab.cells(trophy, works)
    plain = lab.verdict(cells, margin=0.5, figure=figure)
    other_names = lab.cells(trophy.assign(family="zenith"), works.assign(family="alpha"))
    renamed = lab.verdict(
        other_names,
        margin=0.5,
        figure=figure,
        candidate="zenith",
        reference="alpha",
    )
    assert renamed.estimate == pytest.approx(plain.estimate)
    assert renamed.p_value == pytest.approx(plain.p_value, rel=0.2)  # where it is drawn
    for one, other in zip(plain.checks, renamed.checks, strict=True):
        assert other.name == one.name
        assert other.estimate == pytest.approx(one.estimate, nan_ok=True), one.name
        assert other.outcome == one.outcome, one.name
    swapped = lab.verdict(cells, margin=-0.5, figure=figure, candidate="works", reference="trophy")
    for one, other in zip(plain.checks, swapped.checks, strict=True):
        assert other.estimate == pytest.approx(-one.estimate, nan_ok=True), one.name


def test_one_block_leaves_welch_out_and_few_blocks_leave_the_dealing_undecided(lab):
    parts = (lab.readings("trophy", 13, blocks=1), lab.readings("works", 11, blocks=8))
    _, by_welch, dealt = checks(lab, *parts)
    assert by_welch.outcome is None
    assert "two blocks" in by_welch.note
    assert math.isnan(by_welch.estimate)
    assert dealt.outcome is None  # of 9 arrangements none is rarer than 1 in 9
    assert "too few blocks" in dealt.note
    assert disagreeing((by_welch, dealt), "supported") == ()


def test_a_claim_on_the_blocks_measured_has_neither(lab):
    parts = (
        lab.readings("trophy", 13, blocks=2, repeats=2),
        lab.readings("works", 11, blocks=2, repeats=2),
    )
    _, by_welch, dealt = checks(lab, *parts, scope="block")
    assert by_welch.outcome is None
    assert dealt.outcome is None
    assert "not yet measured" in dealt.note


def test_the_shared_error_of_the_gauges_is_in_welch_and_its_lack_in_the_dealing_is_said(lab):
    alike = (lab.readings("trophy", 12, blocks=4), lab.readings("works", 11, blocks=8))
    apart = (alike[0].assign(gauge="ug2"), alike[1])
    _, narrow, _ = checks(lab, *alike)
    _, wide, dealt = checks(lab, *apart)
    assert wide.high - wide.low > narrow.high - narrow.low
    assert "shared error of measuring is not counted" in dealt.note
    assert not dealt.binding
    assert disagreeing((dealt,), "unresolved") == ()


def test_blocks_are_dealt_within_the_gauge_that_read_them(lab):
    """Two gauges far apart, two blocks of each family to each: 6 x 6 arrangements, by hand."""
    values = {"trophy": (12.0, 12.2, 15.1, 15.3), "works": (11.5, 11.7, 14.4, 14.8)}
    rows = [
        (family, f"{family[0]}{at}", value, "ug1" if at < 2 else "ug2")
        for family, row in values.items()
        for at, value in enumerate(row)
    ]
    _, _, dealt = checks(lab, lab.table(rows, "family block value gauge"))
    assert dealt.note.startswith("all 36 arrangements, dealt within the gauge of each block")
    assert dealt.estimate == pytest.approx(0.55)
    assert dealt.p_value == pytest.approx(2 / 36)  # of both gauges the two highest, or the lowest
    one = [(family, block, value, "ug1") for family, block, value, _ in rows]
    assert "70 arrangements" in checks(lab, lab.table(one, "family block value gauge"))[2].note
    apart = [
        (family, block, value, "ug1" if family == "works" else "ug2")
        for family, block, value, _ in rows
    ]
    assert "70 arrangements" in checks(lab, lab.table(apart, "family block value gauge"))[2].note


def test_the_seed_alone_drives_the_drawn_arrangements(lab):
    parts = (lab.readings("trophy", 11.15, blocks=20), lab.readings("works", 11, blocks=20))
    first, again, other = (checks(lab, *parts, seed=seed)[2] for seed in ((1,), (1,), (2,)))
    assert first == again
    assert first.p_value != other.p_value
