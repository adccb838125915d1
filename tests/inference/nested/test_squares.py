"""Mean squares of nested studies: expectations, balanced identity with REML, draws, refusals."""

import math

import numpy as np
import pandas as pd
import pytest

from workbench.errors import Refusal
from workbench.inference.even import even_points
from workbench.inference.means.intervals import mean_interval, sd_interval
from workbench.inference.nested.fit import nested_fit
from workbench.inference.nested.squares import common_block_squares, nested_squares, pooled_squares

PATTERN = np.array([0.12, -0.02, -0.10, 0.0])


def study(seed, blocks=12, bores=4, places=4, spreads=(0.2, 0.12, 0.1), lost=0.0):
    rng = np.random.default_rng(seed)
    bore = np.repeat(np.arange(blocks * bores), places)
    place = np.tile(np.arange(places), blocks * bores)
    value = (
        4.6
        + spreads[0] * rng.standard_normal(blocks)[bore // bores]
        + spreads[1] * rng.standard_normal(blocks * bores)[bore]
        + spreads[2] * rng.standard_normal(bore.size)
        + PATTERN[place % 4]
    )
    table = pd.DataFrame(
        {"block": bore // bores, "bore": bore % bores, "place": place, "value": value}
    )
    return table[rng.random(len(table)) >= lost].reset_index(drop=True)


def test_a_balanced_study_has_the_components_of_restricted_likelihood() -> None:
    data = study(1)
    fit = nested_fit(
        data.assign(place=data["place"].astype(str)),
        response="value",
        fixed=["place"],
        nesting=["block", "bore"],
    )
    found = nested_squares(data).variances
    assert found["block"] == pytest.approx(fit.variance_components["block"], rel=1e-5)
    assert found["bore"] == pytest.approx(fit.variance_components["bore"], rel=1e-5)
    assert found["place"] == pytest.approx(fit.variance_components["residual"], rel=1e-5)


def test_uneven_studies_are_unbiased() -> None:
    found = [nested_squares(study(seed, lost=0.25)).variances for seed in range(150)]
    for name, true in (("block", 0.04), ("bore", 0.0144), ("place", 0.01)):
        values = np.array([one[name] for one in found])
        assert abs(values.mean() - true) < 4 * values.std() / math.sqrt(150), name


def test_the_pattern_comes_back_and_adds_up_to_nothing() -> None:
    found = nested_squares(study(2, blocks=60, lost=0.2))
    assert sum(found.pattern.values()) == pytest.approx(0, abs=1e-12)
    assert list(found.pattern.values()) == pytest.approx(PATTERN, abs=0.03)
    assert found.mean == pytest.approx(4.6, abs=0.1)
    assert sum(found.place_counts.values()) == len(study(2, blocks=60, lost=0.2))


def test_repeats_at_one_place_are_averaged_first() -> None:
    data = study(3)
    twice = pd.concat(
        [data.assign(value=data["value"] - 0.5), data.assign(value=data["value"] + 0.5)]
    )
    assert nested_squares(twice).variances == pytest.approx(nested_squares(data).variances)


def test_blocks_alone_are_a_plain_sample() -> None:
    data = study(4, bores=1, places=1)
    found = nested_squares(data, bore=None, place=None)
    assert found.bore is None
    assert found.place is None
    assert found.block.value == pytest.approx(data["value"].var())
    assert found.variances == {"block": pytest.approx(data["value"].var()), "bore": 0, "place": 0}


def test_draws_of_blocks_alone_are_the_exact_intervals() -> None:
    """Mean by Student's t and spread by chi-square, which the draws must reproduce."""
    data = study(5, bores=1, places=1)
    draws = nested_squares(data, bore=None, place=None).draws(200_000, np.random.default_rng(1))
    mean, spread = mean_interval(data["value"]), sd_interval(data["value"])
    assert np.quantile(draws.mean, [0.025, 0.975]) == pytest.approx((mean.low, mean.high), abs=3e-3)
    assert np.quantile(np.sqrt(draws.total(["block"])), [0.025, 0.975]) == pytest.approx(
        (spread.low, spread.high), rel=0.01
    )


def test_even_draws_of_blocks_alone_come_closer_to_the_exact_intervals() -> None:
    """Of 1 000 even draws, against Student's t: within a fifth of what so many draws would miss."""
    data = study(5, bores=1, places=1)
    found, exact = nested_squares(data, bore=None, place=None), mean_interval(data["value"])
    missed: dict[str, list[float]] = {"even": [], "plain": []}
    for seed in range(40):
        generator = np.random.default_rng(seed)
        for way in missed:
            even = even_points(1_000, 4, generator) if way == "even" else None
            low = np.quantile(found.draws(1_000, generator, even).mean, 0.025)
            missed[way].append(float(low) - exact.low)
    assert np.std(missed["even"]) < 0.5 * np.std(missed["plain"])
    assert abs(np.mean(missed["even"])) < 0.05 * (exact.high - exact.low)


def test_draws_are_never_negative_and_patterns_add_up_to_nothing() -> None:
    draws = nested_squares(study(6, spreads=(0.02, 0.02, 0.3))).draws(
        5_000, np.random.default_rng(1)
    )
    assert min(draws.total([level]).min() for level in ("block", "bore", "place")) == 0
    assert (draws.components["bore"] < 0).any()
    assert draws.total(["block", "bore"], less=1.0).max() == 0
    assert draws.pattern.sum(axis=1) == pytest.approx(np.zeros(5_000), abs=1e-12)


def test_a_unit_changes_nothing_else() -> None:
    plain, inches = (
        nested_squares(study(7).assign(value=lambda t, u=u: t["value"] / u)) for u in (1, 25.4)
    )
    assert inches.block.value * 25.4**2 == pytest.approx(plain.block.value)
    assert inches.place_in_block == plain.place_in_block


def test_pooled_families_keep_their_means_and_share_their_spreads() -> None:
    data = pd.concat(
        [
            study(8, blocks=12).assign(family="a"),
            study(9, blocks=5).assign(family="b", value=lambda t: t["value"] + 1),
        ]
    )
    found = pooled_squares(data)
    alone = {name: nested_squares(rows) for name, rows in data.groupby("family")}
    for name in ("a", "b"):
        assert found[name].mean == pytest.approx(alone[name].mean)
        assert found[name].pattern == pytest.approx(alone[name].pattern)
        assert found[name].mean_of == alone[name].mean_of
    assert found["a"].block == found["b"].block
    assert found["a"].block.degrees_of_freedom == 11 + 4
    assert found["a"].block.value == pytest.approx(
        (11 * alone["a"].block.value + 4 * alone["b"].block.value) / 15
    )
    assert found["a"].bore_in_block == pytest.approx(1 / 4)


def test_a_family_of_one_block_borrows_the_spread_of_the_others() -> None:
    one = study(10, blocks=1).assign(family="b")
    found = pooled_squares(pd.concat([study(8).assign(family="a"), one]))
    assert found["b"].mean_of == 1
    assert found["b"].block == found["a"].block
    draws = found["b"].draws(50_000, np.random.default_rng(1))
    assert draws.mean.std() > 3 * found["a"].draws(50_000, np.random.default_rng(1)).mean.std()


def test_families_that_share_spreads_are_drawn_with_means_of_their_own() -> None:
    data = pd.concat([study(s).assign(family=n) for s, n in ((8, "a"), (9, "b"))])
    found = pooled_squares(data)
    points = even_points(4_000, 5, np.random.default_rng(1))
    draws = [
        found[name].draws(4_000, np.random.default_rng(own), points[:, [0, 1, 2, own]])
        for name, own in (("a", 3), ("b", 4))
    ]
    assert (draws[0].components["block"] == draws[1].components["block"]).all()
    assert abs(np.corrcoef(draws[0].mean, draws[1].mean)[0, 1]) < 0.1


def test_refusals() -> None:
    with pytest.raises(Refusal, match="2 blocks do not tell how blocks vary; at least 3"):
        nested_squares(study(1, blocks=2))
    with pytest.raises(Refusal, match="no column 'depth'"):
        nested_squares(study(1), place="depth")
    with pytest.raises(Refusal, match="'value' must hold finite numbers"):
        nested_squares(study(1).assign(value=math.nan))
    with pytest.raises(Refusal, match="means of all 12 blocks are equal"):
        nested_squares(study(1).assign(value=4.6))
    with pytest.raises(Refusal, match="no column 'family'"):
        pooled_squares(study(1))
    with pytest.raises(Refusal, match=r"3 blocks of 2 families do not tell .* at least 4"):
        pooled_squares(
            pd.concat([study(s, blocks=b).assign(family=b) for s, b in ((1, 1), (2, 2))])
        )


def test_few_blocks_keep_their_own_spread_inside_and_borrow_that_between() -> None:
    """Against each family alone, and against both pooled: which mean square comes from where."""
    rng = np.random.default_rng(5)
    rows = []
    for family, blocks, sd in (("a", 3, 3.0), ("b", 9, 1.0)):
        for block in range(blocks):
            height = rng.standard_normal()
            for bore in range(4):
                level = height + sd * rng.standard_normal()
                rows += [
                    {
                        "family": family,
                        "block": block,
                        "bore": bore,
                        "place": place,
                        "value": level + 0.1 * sd * rng.standard_normal(),
                    }
                    for place in range(3)
                ]
    data = pd.DataFrame(rows)
    found, pooled = common_block_squares(data), pooled_squares(data)
    for family in "ab":
        alone = nested_squares(data[data["family"] == family])
        assert found[family].block == pooled[family].block
        assert found[family].bore == alone.bore
        assert found[family].place == alone.place
        assert found[family].pattern == alone.pattern
    one = data[(data["family"] == "b") | (data["block"] == 0)]
    single = common_block_squares(one)["a"]  # three degrees of freedom of bores: borrowed
    assert single.bore == pooled_squares(one)["a"].bore
    assert single.place is not None
    assert single.place.degrees_of_freedom == 4 * 3 - 4 - 2
