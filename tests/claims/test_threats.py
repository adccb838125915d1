"""Every warning: what triggers it, and that its absence is silence."""

import math
import re

import numpy as np
import pytest
from scipy.stats import t

from workbench.records.settings import Gauge, Remembered, Settings, built_in_quantities


def warned(verdict):
    return {threat.code: threat.text for threat in verdict.warnings}


@pytest.fixture
def plain(lab):
    """Give two families that give no reason for a warning."""
    parts = []
    for family, mean in (("trophy", 12), ("works", 11)):
        half = lab.readings(family, mean, blocks=8, seed=4)
        half["operator"] = np.where(np.arange(len(half)) % 4 < 2, "north", "south")
        parts.append(half)
    return parts


def calibrated(lab, *parts):
    """Give the cells of readings under one calibration, and that calibration."""
    cells = lab.cells(*(part.assign(calibration="C1") for part in parts))
    return cells, {"calibrations": lab.calibration("C1")}


def test_sound_records_give_no_warning(lab, plain):
    cells, given = calibrated(lab, *plain)
    assert warned(lab.verdict(cells, given=given)) == {}


def test_one_block(lab):
    cells = lab.cells(lab.readings("trophy", 12, blocks=1), lab.readings("works", 11, blocks=8))
    text = warned(lab.verdict(cells))["one_block"]
    assert "Only one trophy block" in text
    assert "as works blocks do" in text
    assert "the block itself the readings say that it lies above" in text
    mirrored = lab.verdict(cells, candidate="works", reference="trophy", direction="less")
    assert warned(mirrored)["one_block"] == text


def test_one_block_is_told_where_it_lies_among_the_others(lab):
    """The share of the others below it is that of Student's t, as Crawford and Howell have it."""
    one, many = lab.readings("trophy", 11.1, blocks=1), lab.readings("works", 11, blocks=8)
    means = [part.groupby("block")["value"].mean().to_numpy() for part in (one, many)]
    apart = (means[0][0] - means[1].mean()) / (means[1].std(ddof=1) * math.sqrt(1 + 1 / 8))
    text = warned(lab.verdict(lab.cells(one, many)))["one_block"]
    assert "if three times, instead of 5. Of the block itself" in text
    told = float(text.split("lies above ")[1].split("%")[0])
    assert told == pytest.approx(100 * t.cdf(apart, 7), abs=0.5)


def test_few_blocks(lab):
    cells = lab.cells(lab.readings("trophy", 12, blocks=3), lab.readings("works", 11, blocks=8))
    assert "Only 3 trophy blocks" in warned(lab.verdict(cells))["few_blocks"]


def test_unmatched_stations(lab, plain):
    extra = lab.readings("works", 11, blocks=2, stations=("side",), operator="north")
    text = warned(lab.verdict(lab.cells(*plain, extra)))["unmatched_stations"]
    assert "4 works readings" in text
    assert "(side)" in text


def test_single_gauge_each(lab, plain):
    cells = lab.cells(plain[0].assign(gauge="ug2"), plain[1])
    text = warned(lab.verdict(cells))["single_gauge_each"]
    assert "trophy by ug2; works by ug1" in text


def test_confounding_quotes_the_bias_that_would_overturn_the_verdict(lab, plain):
    def asked(bias):
        moved = plain[0].assign(gauge="ug2", value=plain[0]["value"] - bias)
        return lab.verdict(lab.cells(moved, plain[1]))

    text = warned(asked(0.0))["single_gauge_each"]
    size = float(re.search(r"a bias of ([0-9.]+) mm .* overturn", text)[1])
    assert asked(0.0).outcome == "supported"
    assert asked(size - 0.02).outcome == "supported"
    found = asked(size + 0.02)
    assert found.outcome == "unresolved"
    assert "overturn" not in warned(found)["single_gauge_each"]


def test_single_operator_each(lab, plain):
    cells = lab.cells(plain[0].assign(operator="south"), plain[1].assign(operator="north"))
    assert "No operator read" in warned(lab.verdict(cells))["single_operator_each"]


def test_searched_and_doubtful_excluded(lab, plain):
    hunted = plain[0].head(1).assign(sampling="search")
    shaky = plain[1].head(2).assign(contact="doubtful")
    found = warned(lab.verdict(lab.cells(*plain, hunted, shaky)))
    assert found["searched_excluded"].startswith("Left out: 1 trophy reading made")
    assert found["doubtful_excluded"].startswith("Left out: 2 works readings made")


def test_few_blocks_that_vary_more_are_judged_by_their_own_spread_and_it_is_said(lab):
    parts = (
        lab.readings("trophy", 12.3, blocks=3, between=1.2, seed=8),
        lab.readings("works", 11, blocks=30, between=0.1, seed=8),
    )
    verdict = lab.verdict(lab.cells(*parts))
    found = warned(verdict)
    assert (verdict.outcome, verdict.analysis) == ("unresolved", "own_spreads")
    assert "trophy blocks differ among themselves" in found["unequal_spread"]
    assert "each family is judged by its own spread" in found["unequal_spread"]
    assert "12 times in 100 instead of 5" in found["few_blocks"]


def test_an_analysis_asked_for_against_the_spreads_is_warned_of(lab):
    parts = (
        lab.readings("trophy", 12.3, blocks=3, between=1.2, seed=8),
        lab.readings("works", 11, blocks=30, between=0.1, seed=8),
    )
    verdict = lab.verdict(lab.cells(*parts), analysis="common_spreads")
    found = warned(verdict)
    assert (verdict.outcome, verdict.analysis) == ("supported", "common_spreads")
    assert "asks for this analysis by name" in verdict.analysis_reason
    assert "would be own_spreads" in verdict.analysis_reason
    assert "Welch on block means: unresolved" in found["checks_disagree"]
    assert "Trust the analysis with own spreads" in found["unequal_spread"]


def test_boundary_variance(lab):
    rows = [
        (family, f"{family[0]}{block}", lift + value)
        for family, lift in (("trophy", 1.0), ("works", 0.0))
        for block in range(6)
        for value in (10.0, 10.4, 10.8 + block / 50)
    ]
    cells = lab.cells(lab.table(rows, "family block value"))
    assert "between blocks" in warned(lab.verdict(cells))["boundary_variance"]


def test_merged_levels(lab):
    cells = lab.cells(lab.readings("trophy", 12, bores=1), lab.readings("works", 11, bores=1))
    assert "bores" in warned(lab.verdict(cells))["merged_levels"]


def test_no_gauge_uncertainty(lab, plain):
    cells = lab.cells(*plain).assign(gauge="ug9")
    assert (
        "for ug9; a steady error of it cancels"
        in warned(lab.verdict(cells))["no_gauge_uncertainty"]
    )
    apart = lab.cells(plain[0].assign(gauge="ug9"), plain[1].assign(gauge="ug8"))
    assert "interval may be too short" in warned(lab.verdict(apart))["no_gauge_uncertainty"]
    unnamed = lab.cells(*plain).assign(gauge="")
    assert "name no gauge" in warned(lab.verdict(unnamed))["no_gauge_uncertainty"]


def test_rejected_rows(lab, plain):
    verdict = lab.verdict(lab.cells(*plain), given={"rejected": 7, "rows_in": 100})
    assert warned(verdict)["rejected_rows"].startswith("7 of the 100 rows")


def test_remembered_range_is_told_and_has_no_say(lab, plain):
    cells = lab.cells(*plain)
    before = lab.verdict(cells)
    lab.settings = Settings(
        title="Invented",
        quantities=built_in_quantities(),
        gauges={"ug1": Gauge(unit="mm", uncertainty=0.05)},
        remembered=(
            Remembered(
                who="an old hand",
                quantity="deck_thickness",
                family="works",
                low=15,
                high=16,
                unit="mm",
            ),
            Remembered(
                who="a stranger", quantity="mass", family="works", low=60, high=62, unit="kg"
            ),
        ),
    )
    after = lab.verdict(cells)
    assert "15 to 16 mm for works blocks (an old hand)" in warned(after)["remembered_range"]
    assert (before.outcome, before.p_value) == (after.outcome, after.p_value)


def test_a_block_claim_is_not_warned_of_what_only_families_have(lab):
    parts = (
        lab.readings("trophy", 12, blocks=1, repeats=3),
        lab.readings("works", 11, blocks=2, repeats=3),
    )
    cells, given = calibrated(lab, *parts)
    assert warned(lab.verdict(cells, given=given, scope="block")) == {}
