"""Normality of effects, level by level: error rates, what each level sees, refusals."""

import math

import numpy as np
import pandas as pd
import pytest

from workbench.errors import Refusal
from workbench.inference.distributions.nested_normality import nested_normality


def study(seed, blocks=14, bores=4, places=6, draw=None, step=0.05):
    """Give a table of places; `draw` replaces the normal at the named level."""
    rng = np.random.default_rng(seed)
    usual = dict.fromkeys(("block", "bore", "place"), rng.standard_normal) | (draw or {})
    bore = np.repeat(np.arange(blocks * bores), places)
    block, place = bore // bores, np.tile(np.arange(places), blocks * bores)
    value = (
        4.6
        + 0.2 * usual["block"](blocks)[block]
        + 0.12 * usual["bore"](blocks * bores)[bore]
        + 0.15 * usual["place"](bore.size)
        + 0.1 * np.cos(place)
    )
    value = np.round(value / step) * step
    return pd.DataFrame({"block": block, "bore": bore, "place": place, "value": value})


def test_normal_effects_are_seldom_called_otherwise() -> None:
    found = [nested_normality(study(s), seed=s, step=0.05, replicates=199) for s in range(80)]
    for level in ("block", "bore", "place"):
        p = np.array([[one.p_value for one in f[level].tests] for f in found])
        for share in (0.05, 0.5):
            seen = (p <= share).mean(axis=0)
            # exact only for points; coarse steps make the largest distance a little cautious
            assert (seen - share < 4 * math.sqrt(share * (1 - share) / 80)).all(), level


def heavy(seed):
    rng = np.random.default_rng(seed)
    return lambda size: rng.exponential(size=size) - 1


@pytest.mark.parametrize("level", ["block", "bore", "place"])
def test_each_level_sees_its_own_misfit(level) -> None:
    data = study(5, blocks=60, draw={level: heavy(9)}, step=0.01)
    found = nested_normality(data, seed=1, step=0.01, replicates=499)
    p = {name: one.tests[0].p_value for name, one in found.items()}
    assert p[level] < 0.02
    assert all(p[other] > 0.02 for other in p if other != level)


def test_a_unit_changes_nothing() -> None:
    data = study(6)
    plain = nested_normality(data, seed=1, step=0.05, replicates=199)
    inches = data.assign(value=data["value"] / 25.4)
    other = nested_normality(inches, seed=1, step=0.05 / 25.4, replicates=199)
    for level in plain:
        assert other[level].standardised == pytest.approx(plain[level].standardised, abs=1e-9)
        assert other[level].tests[0].p_value == plain[level].tests[0].p_value


def test_standardised_deviations_have_about_unit_spread() -> None:
    found = nested_normality(study(7, blocks=80), seed=1, step=0.05, replicates=99)
    for one in found.values():
        assert one.standardised.std() == pytest.approx(1, abs=0.15)


def test_of_very_many_places_whole_bores_are_tested() -> None:
    found = nested_normality(study(8, blocks=200), seed=1, step=0.05, replicates=99)
    assert found["place"].of == 200 * 4 * 6
    assert found["place"].standardised.size == 3_000
    assert found["block"].standardised.size == found["block"].of == 200


def test_blocks_without_bores_have_two_levels() -> None:
    data = study(9).drop(columns="bore")
    found = nested_normality(data, seed=1, bore=None, place=None, replicates=99)
    assert set(found) == {"block", "place"}


def test_refusals() -> None:
    with pytest.raises(Refusal, match="No level has 8 deviations"):
        nested_normality(study(1, blocks=3, bores=1, places=2), seed=1)
    with pytest.raises(Refusal, match="2 blocks do not tell how blocks vary; at least 3"):
        nested_normality(study(1, blocks=2), seed=1)
