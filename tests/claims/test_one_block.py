"""Whether a verdict rests on one block: judged again without each that could matter."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy.stats import ttest_ind

from workbench.claims import one_block
from workbench.claims.judge import Bench
from workbench.claims.one_block import without_each_block
from workbench.errors import Refusal
from workbench.study import open_study

OXIDE = Path(__file__).parents[2] / "data" / "oxide"


def uneven(lab, seed: int, *, apart: float, blocks: tuple[int, int] = (6, 8)):
    """Give families whose blocks were read at unlike numbers of bores."""
    generator = np.random.default_rng(seed)
    rows = []
    for family, many, level in (("trophy", blocks[0], apart), ("works", blocks[1], 0.0)):
        for block in range(many):
            mean = 10 + level + generator.normal(0, 0.2)
            for bore in range(generator.integers(2, 7)):
                at = mean + generator.normal(0, 0.1)
                rows += [
                    (family, f"{family[0]}{block}", str(bore), place, at + generator.normal(0, 0.1))
                    for place in ("front", "rear")
                ]
    return lab.cells(lab.table(rows, "family block bore station value"))


def test_oxide_without_a_lot_is_students_analysis_of_the_other_lots() -> None:
    """The lots are balanced, so scipy's pooled t of the lot means left is the nested answer."""
    study = open_study(OXIDE)
    claim = study.ledger.claims[0]
    bench = Bench(study.ledger, study.records, study.settings, seed=1)
    found = without_each_block(claim, bench.analysis_of(claim, bench.evidence_of(claim)), 0.95)
    readings = pd.read_csv(OXIDE / "readings.csv")
    means = readings.groupby(["family", "block"])["value"].mean()
    assert found.blocks == len(means)
    assert len(found.without) >= 5
    for one in found.without:
        left = means.drop(index=(one.family, one.block))
        expected = ttest_ind(left[claim.candidate], left[claim.reference])
        ends = expected.confidence_interval(0.95)
        assert one.decision is not None
        assert one.decision.p_value == pytest.approx(expected.pvalue, rel=1e-5)
        assert one.decision.interval.low == pytest.approx(ends.low, rel=1e-5)
        assert one.decision.interval.high == pytest.approx(ends.high, rel=1e-5)


@pytest.mark.parametrize("last_digits", [1e-12, -1e-12])
def test_blocks_that_move_alike_stand_in_their_own_order(last_digits: float) -> None:
    study = open_study(OXIDE)
    bench = Bench(study.ledger, study.records, study.settings, seed=1)
    claim = study.ledger.claims[0]
    found = without_each_block(claim, bench.analysis_of(claim, bench.evidence_of(claim)), 0.95)
    shifts = (0.1, -0.1 * (1 + last_digits), 0.2)
    alike = tuple(
        replace(one, estimate=found.estimate + shift, decision=found.whole)
        for one, shift in zip(found.without, shifts, strict=False)
    )
    assert replace(found, without=alike).most(3) == (alike[2], alike[0], alike[1])


@pytest.mark.parametrize("asked", ["own_spreads", "common_spreads", "welch", "pooled"])
def test_no_block_that_decides_is_passed_over(lab, asked: str, monkeypatch) -> None:
    deciding = 0
    for seed in range(12):
        claim = lab.claim(analysis=asked)
        analysis = lab.analysis(uneven(lab, seed, apart=0.25), claim)
        some = without_each_block(claim, analysis, 0.95)
        with monkeypatch.context() as patched:
            patched.setattr(one_block, "MOVING", 1_000)
            every = without_each_block(claim, analysis, 0.95)
        assert len(every.without) == every.blocks
        assert set(some.deciding) == set(every.deciding)
        assert some.most(3) == every.most(3)
        deciding += len(every.deciding)
    assert deciding > 3


def test_one_number_a_block_is_left_out_by_the_means(lab) -> None:
    generator = np.random.default_rng(2)
    values = {"trophy": generator.normal(5.3, 0.2, 6), "works": generator.normal(5.0, 0.2, 7)}
    rows = [(f, f"{f}{at}", v) for f, row in values.items() for at, v in enumerate(row.round(2))]
    cells = lab.cells(lab.table(rows, "family block value"))
    claim = lab.claim()
    found = without_each_block(claim, lab.analysis(cells, claim), 0.95)
    for one in found.without:
        left = {
            family: np.delete(row.round(2), int(one.block.removeprefix(family)))
            if family == one.family
            else row.round(2)
            for family, row in values.items()
        }
        expected = ttest_ind(left["trophy"], left["works"], equal_var=False)
        difference = left["trophy"].mean() - left["works"].mean()
        assert one.estimate == pytest.approx(difference)
        # the stated error of the gauge counts as well, so the p is no smaller
        assert one.decision is not None
        assert one.decision.p_value >= expected.pvalue - 1e-9


def test_the_only_block_of_a_family_cannot_be_spared(lab) -> None:
    claim = lab.claim()
    analysis = lab.analysis(uneven(lab, 3, apart=2.0, blocks=(1, 8)), claim)
    found = without_each_block(claim, analysis, 0.95)
    alone = next(one for one in found.without if one.family == "trophy")
    assert alone.decision is None
    assert alone.reason
    assert found.outcome_of(alone) == "unresolved"
    assert alone in found.deciding
    assert found.shift(alone) == 0


def test_swapped_families_and_a_changed_unit_tell_the_same_blocks(lab) -> None:
    cells = uneven(lab, 5, apart=0.3)
    claim = lab.claim()
    swapped = lab.claim(candidate="works", reference="trophy", direction="less")
    inches = lab.claim(unit="in")
    found, other, inch = (
        without_each_block(one, lab.analysis(cells, one), 0.95) for one in (claim, swapped, inches)
    )
    assert {one.block for one in found.deciding} == {one.block for one in other.deciding}
    assert {one.block for one in found.deciding} == {one.block for one in inch.deciding}
    by_name = {one.block: one for one in other.without}
    for one in found.without:
        assert by_name[one.block].estimate == pytest.approx(-one.estimate)
        assert by_name[one.block].decision.p_value == pytest.approx(one.decision.p_value, rel=1e-6)


def test_a_claim_on_the_blocks_measured_is_refused(lab) -> None:
    cells, claim = uneven(lab, 1, apart=0.0), lab.claim(scope="block")
    analysis = lab.analysis(cells, claim)
    with pytest.raises(Refusal, match="without one of them it is another claim"):
        without_each_block(claim, analysis, 0.95)
