"""How the readings of a family are distributed: the parts agree with inference, and refuse."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from workbench.castings.family_limits import COVERAGE
from workbench.castings.family_places import family_places
from workbench.castings.family_readings import family_readings
from workbench.castings.family_shape import REPLICATES, THIN, FamilyShape, family_shape
from workbench.inference.distributions.profile import parameter_interval, quantile_interval
from workbench.inference.estimates import Estimate
from workbench.inference.outliers import grubbs
from workbench.inference.tolerance.limits import ToleranceInterval
from workbench.inference.tolerance.normal import normal_tolerance
from workbench.study import open_study

HEAD = "block,family,bore,station,quantity,value,unit"
Shape = Callable[..., FamilyShape]


def walls(
    seed: int, blocks: int = 24, block_sd: float = 0.2, odd: float = 0.0, second: float = 0.0
) -> list[str]:
    """Draw walls of blocks of two bores of three places; one odd block, or a second population."""
    rng = np.random.default_rng(seed)
    rows = []
    for block in range(blocks):
        level = rng.normal(4.6, block_sd) + odd * (block == 0) + second * (block % 2)
        for bore in range(2):
            middle = level + rng.normal(0, 0.1)
            for place in range(3):
                value = middle + rng.normal(0, 0.1)
                rows.append(f"B{block:02},works,{bore},s{place},wall_thickness,{value:.2f},mm")
    return rows


@pytest.fixture
def shaped(tmp_path: Path) -> Shape:
    """Write rows as a study, open it, and give the shape of its walls."""

    def shape(rows: list[str], **given: object) -> FamilyShape:
        (tmp_path / "study.toml").write_text('title = "T"\n', "utf-8")
        (tmp_path / "readings.csv").write_text("\n".join([HEAD, *rows]) + "\n", "utf-8")
        study = open_study(tmp_path)
        asked = (study.records, study.settings, study.calibrations, "wall_thickness", "mm")
        places, _ = family_places(study.records.cells, *asked[1:])
        readings = family_readings(*asked)["works"]
        options = {"confidence": 0.95, "seed": 1} | given
        return family_shape(readings, places.get("works"), **options)  # type: ignore[arg-type]

    return shape


def test_the_parts_are_those_of_inference(shaped: Shape) -> None:
    shape = shaped(walls(1))
    compared = shape.comparison
    assert compared is not None
    normal = next(fit for fit in compared.fits if fit.family == "normal")
    interval = shape.intervals["normal"]["mean"]
    expected = parameter_interval(normal, "mean")
    assert isinstance(interval, Estimate)
    assert (interval.low, interval.high) == pytest.approx((expected.low, expected.high))
    thin, known = shape.intervals["normal"][THIN], quantile_interval(normal, 0.05)
    assert isinstance(thin, Estimate)
    assert (thin.low, thin.high) == pytest.approx((known.low, known.high))
    assert thin.low < normal.quantile(0.05) < thin.high < interval.low
    assert sum(compared.weights.values()) == pytest.approx(1.0)
    assert shape.odd == grubbs(shape.blocks)
    tolerance = normal_tolerance(shape.blocks, COVERAGE, 0.95, "lower")
    assert shape.limits[0].how == "normal"
    assert shape.limits[0].above == tolerance
    assert shape.refused == {}


def test_the_test_that_counts_is_the_one_that_knows_the_blocks(shaped: Shape) -> None:
    tested = shaped(walls(2, block_sd=0.4)).tested["normal"]
    assert tested.counts == "grouped"
    assert tested.grouped is not None
    assert tested.deciding is tested.grouped
    alone = tested.independent.test("anderson-darling").p_value
    assert tested.grouped.test("anderson-darling").p_value > alone
    assert tested.grouped.replicates <= REPLICATES


def test_one_reading_a_block_needs_no_grouping(shaped: Shape) -> None:
    rows = [row for row in walls(3, blocks=30) if ",0,s0," in row]
    tested = shaped(rows).tested["normal"]
    assert (tested.counts, tested.grouped) == ("independent", None)


def test_few_blocks_leave_neither_test_to_count(shaped: Shape) -> None:
    shape = shaped(walls(4, blocks=4))
    tested = shape.tested["normal"]
    assert tested.counts == "neither"
    assert tested.deciding is None
    assert "at least 5 are needed" in tested.why
    assert "at least 6 are needed" in shape.refused["outliers"]
    assert "at least 20 are needed" in shape.refused["two peaks"]


def test_an_odd_block_is_reported_and_not_dropped(shaped: Shape) -> None:
    shape = shaped(walls(5, odd=1.5))
    assert shape.search is not None
    assert [shape.blocks.index[at] for at in shape.search.suspects] == ["B00"]
    assert shape.readings.blocks == len(shape.blocks) == 24


def test_two_pours_under_one_name_are_seen_and_one_is_not(shaped: Shape) -> None:
    apart = shaped(walls(6, blocks=40, block_sd=0.1, second=0.8)).peaks
    alone = shaped(walls(7, blocks=40)).peaks
    assert apart is not None
    assert alone is not None
    assert (apart.p_value, apart.peaks) == (1 / (1 + REPLICATES), 2)
    assert alone.p_value > 0.05


def test_limits_widen_from_blocks_to_places_and_ranks_want_59_blocks(shaped: Shape) -> None:
    limits = {(limit.what, limit.how): limit for limit in shaped(walls(8)).limits}
    found = [
        limits[what, "nested model"].above
        for what in ("mean of a block", "mean of a bore", "single place")
    ]
    ends = [limit.low for limit in found if isinstance(limit, ToleranceInterval)]
    assert len(ends) == 3
    assert ends == sorted(ends, reverse=True)
    ranked = limits["mean of a block", "no shape, by ranks"]
    assert (ranked.above, ranked.within) == ("too few blocks", "too few blocks")
    enough, short = (shaped(walls(9, blocks=of)).limits[3].above for of in (59, 58))
    assert isinstance(enough, ToleranceInterval)
    assert short == "too few blocks"
    assert enough.attained >= 0.95


def test_every_distribution_is_tested_where_one_family_is_looked_at_whole(shaped: Shape) -> None:
    shape = shaped(walls(10), whole=True)
    assert shape.comparison is not None
    sound = {fit.family for fit in shape.comparison.fits if fit.converged}
    assert (
        set(shape.tested)
        | {name for name in sound if any("test of" in what for what in shape.refused)}
        >= sound
    )
    assert set(shape.intervals) == sound


@pytest.mark.parametrize(
    ("rows", "sentence"),
    [
        (walls(11, blocks=1)[:4], "at least 5 readings"),
        (
            [row.rsplit(",", 2)[0] + ",4.50,mm" for row in walls(12, blocks=3)],
            "a constant has no shape",
        ),
        (
            [
                row.rsplit(",", 2)[0] + f",{4.5 + at % 2 / 10},mm"
                for at, row in enumerate(walls(13))
            ],
            "two values only",
        ),
        (
            [row.replace(",4.", ",<4.") for row in walls(14) if ",4." in row],
            "known only to lie beyond",
        ),
    ],
)
def test_too_little_is_refused_with_the_reason(
    shaped: Shape, rows: list[str], sentence: str
) -> None:
    shape = shaped([",".join([*row.split(",")[:5], *row.split(",")[-2:]]) for row in rows])
    assert sentence in shape.refused["fits"]
    assert shape.comparison is None
    assert shape.tested == {}


def test_a_mixture_of_few_readings_is_refused_and_the_others_fitted(shaped: Shape) -> None:
    rows = [row for row in walls(15, blocks=8) if ",0,s0," in row]
    shape = shaped(rows)
    assert shape.comparison is not None
    assert "at least 20" in shape.comparison.refused["normal-mixture"]
    assert shape.comparison.best.converged
