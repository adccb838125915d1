"""Which analysis a claim gets: the rule, its reason, and what may be asked for by name."""

import numpy as np
import pytest
from scipy.stats import f, ttest_ind, ttest_rel

from workbench.claims.analysis import analyse
from workbench.claims.choosing import (
    DANGER,
    OF_BLOCKS,
    OF_FAMILIES,
    OF_SHARES,
    OWN_FROM,
    choose,
    compare_spreads,
)
from workbench.claims.claim import ANALYSES
from workbench.claims.evidence import gather
from workbench.errors import Refusal

NAMES = ("Trophy", "Works")


def blocks(count, spread=1.0):
    """Give values whose standard deviation is `spread` exactly."""
    steps = np.arange(count, dtype=float)
    return spread * (steps - steps.mean()) / steps.std(ddof=1)


def evidence(lab, *parts, **fields):
    asked = {"quantity": "deck_thickness", "candidate": "trophy", "reference": "works"}
    return gather(lab.cells(*parts), **(asked | {"unit": "mm"} | fields))


@pytest.mark.parametrize(
    ("ours", "others", "name"),
    [
        (blocks(OWN_FROM), blocks(OWN_FROM), "own_spreads"),
        (blocks(30), blocks(5, 9.0), "own_spreads"),
        (blocks(4), blocks(30), "common_spreads"),
        (blocks(30, 5.0), blocks(4), "common_spreads"),  # the many vary more: no danger
        (blocks(3, 3.0), blocks(30), "own_spreads"),
        (blocks(30), blocks(3, 3.0), "own_spreads"),
        (blocks(4, 4.0), blocks(4), "common_spreads"),  # as many of each: Student's t is safe
        (np.array([7.0]), blocks(8), "single_case"),
        (blocks(2), np.array([7.0]), "single_case"),
    ],
)
def test_blocks_and_their_spreads_decide(ours, others, name):
    chosen = choose("family", ours, others, names=NAMES)
    assert (chosen.name, chosen.asked) == (name, False)
    assert chosen.why.endswith(".")


def test_the_reason_names_the_families_and_how_they_vary():
    why = choose("family", blocks(3, 3.0), blocks(30), names=NAMES).why
    assert "few Trophy blocks vary 3.0 times as much as Works blocks" in why
    assert "One Works block" in choose("family", blocks(9), np.array([1.0]), names=NAMES).why


def test_spreads_are_compared_by_f_two_sided():
    found = compare_spreads(blocks(3, 2.0), blocks(30))
    assert (found.wider, found.times) == (0, pytest.approx(2.0))
    assert found.p_value == pytest.approx(2 * f.sf(4.0, 2, 29))
    turned = compare_spreads(blocks(30), blocks(3, 2.0))
    assert (turned.wider, turned.p_value) == (1, pytest.approx(found.p_value))
    assert 0 < found.p_value < DANGER
    assert compare_spreads(np.array([1.0]), blocks(4)) is None
    assert compare_spreads(np.ones(3), np.ones(4)) is None
    assert compare_spreads(blocks(3), np.ones(4)).p_value == 0


def test_a_claim_on_the_blocks_measured_has_its_own_analyses():
    nobody = np.empty(0)
    assert choose("block", nobody, nobody).name == "measured_blocks"
    assert choose("block", nobody, nobody, asked="paired_places").asked


@pytest.mark.parametrize(
    ("scope", "counts", "asked", "reason"),
    [
        ("block", (4, 4), "welch", r"scope “block” may ask for measured_blocks, paired_places"),
        ("family", (4, 4), "paired_places", r"scope “family” may ask for common_spreads"),
        ("family", (4, 4), "single_case", r"of which one block was measured"),
        ("family", (1, 4), "welch", r"2 blocks of each family"),
        ("family", (4, 1), "own_spreads", r"2 blocks of each family"),
        ("family", (9, 30), "relative_effect", r"10 blocks of each family"),
        ("family", (4, 9), "bootstrap", r"5 blocks of each family"),
        ("family", (9, 4), "bores_bootstrap", r"5 blocks of each family"),
        ("family", (9, 9), "fisher", r"scope “family” may ask for"),
        ("block", (9, 9), "ranks", r"measured_blocks, paired_places, signed_ranks, signs"),
    ],
)
def test_an_analysis_that_cannot_answer_is_refused(scope, counts, asked, reason):
    ours, others = (np.arange(count, dtype=float) for count in counts)
    with pytest.raises(Refusal, match=reason) as refusal:
        choose(scope, ours, others, asked=asked)
    assert refusal.value.code == "analysis_does_not_fit"


@pytest.mark.parametrize(("name", "equal"), [("welch", False), ("pooled", True)])
def test_block_means_asked_for_against_scipy(lab, name, equal):
    parts = (lab.readings("trophy", 11.3, blocks=4), lab.readings("works", 11, blocks=7))
    found = analyse(evidence(lab, *parts), lab.settings.gauges, "family", asked=name)
    ours, others = (
        part.assign(value=part["value"].round(2)).groupby("block")["value"].mean() for part in parts
    )
    expected = ttest_ind(ours, others, equal_var=equal)
    assert found.difference.p_value() == pytest.approx(expected.pvalue, rel=1e-9)
    ends, interval = expected.confidence_interval(), found.difference.interval()
    assert (interval.low, interval.high) == pytest.approx((ends.low, ends.high))
    assert found.choice.asked


def test_own_spreads_of_balanced_families_are_welchs_analysis_of_block_means(lab):
    parts = (
        lab.readings("trophy", 11.3, blocks=6, between=0.6),
        lab.readings("works", 11, blocks=8),
    )
    found = analyse(evidence(lab, *parts), lab.settings.gauges, "family")
    ours, others = (
        part.assign(value=part["value"].round(2)).groupby("block")["value"].mean() for part in parts
    )
    assert found.choice.name == "own_spreads"
    expected = ttest_ind(ours, others, equal_var=False)
    assert found.difference.p_value() == pytest.approx(expected.pvalue, rel=1e-4)
    assert set(found.spreads) == {"trophy", "works"}


def test_paired_by_place_against_scipy(lab):
    parts = (
        lab.readings("trophy", 12, blocks=1, bores=4, repeats=2),
        lab.readings("works", 11, blocks=1, bores=4, repeats=2),
    )
    found = analyse(evidence(lab, *parts), lab.settings.gauges, "block", asked="paired_places")
    ours, others = (
        part.assign(value=part["value"].round(2)).groupby(["bore", "station"])["value"].mean()
        for part in parts
    )
    expected = ttest_rel(ours, others)
    assert found.readings_only.p_value() == pytest.approx(expected.pvalue, rel=1e-9)
    assert found.readings_only.degrees_of_freedom == 7


def test_own_spreads_that_cannot_be_fitted_give_way_and_it_is_said(lab):
    parts = (
        lab.readings("trophy", 12, blocks=6, bores=1, stations=("front",)),
        lab.readings("works", 11, blocks=6, bores=1, stations=("front",)),
    )
    cells = lab.cells(*parts)
    verdict = lab.verdict(cells)
    assert verdict.analysis in ("own_spreads", "welch")
    ours, others = (part["value"].round(2) for part in parts)
    expected = ttest_ind(ours, others, equal_var=False)
    assert verdict.p_value == pytest.approx(expected.pvalue, rel=1e-4)


def test_every_analysis_of_means_can_be_asked_for_of_some_claim(lab):
    family = (lab.readings("trophy", 12, blocks=10), lab.readings("works", 11, blocks=11))
    single = (lab.readings("trophy", 12, blocks=1, repeats=2), lab.readings("works", 11))
    many = tuple(
        part.assign(operator=[f"o{place % 6}" for place in range(len(part))]) for part in family
    )
    parts = {"single_case": single, "crossed": many}
    for name in ANALYSES:
        if name in OF_SHARES:
            continue
        scope = "block" if name in OF_BLOCKS else "family"
        cells = lab.cells(*parts.get(name, family))
        verdict = lab.verdict(cells, scope=scope, analysis=name)
        assert (verdict.analysis, verdict.has_numbers) == (name, True)
        assert verdict.to_json()["analysis"] == name
        assert verdict.estimate == pytest.approx(1, abs=0.5)
    assert set(ANALYSES) == {*OF_FAMILIES, *OF_BLOCKS, *OF_SHARES}
