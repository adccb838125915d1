from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest

from workbench.castings.bores import wall_draws
from workbench.castings.bores.wall_draws import BlockDraws, WallsToDraw, block_draws
from workbench.castings.bores.wall_map import wall_map
from workbench.castings.bores.wall_model import wall_model
from workbench.castings.places import Places
from workbench.errors import Refusal


def same(one: BlockDraws, other: BlockDraws) -> None:
    assert (one.block, one.family, one.unit) == (other.block, other.family, other.unit)
    assert one.not_answered == other.not_answered
    assert list(one.bores) == list(other.bores)
    for bore, mine in one.bores.items():
        for field in fields(mine):
            own, its = getattr(mine, field.name), getattr(other.bores[bore], field.name)
            np.testing.assert_array_equal(own, its, err_msg=f"{bore} {field.name}")


def family(walls, drawn) -> Places:
    """Give blocks of which some lack places, one was searched, one is short of a bore."""
    rng = np.random.default_rng(3)
    rows = [row for row in drawn(rng, blocks=5) if rng.random() > 0.05]
    rows = [row for row in rows if (row["block"], row["bore"]) != ("W02", "4")]
    few = [row for row in rows if row["block"] == "W04" and row["bore"] == "3"]
    rows = [row for row in rows if row not in few[2:]]
    hunted = {"family": "works", "block": "W03", "depth": "middle", "sampling": "search"}
    return walls(
        [
            *rows,
            {**hunted, "bore": "1", "station": "rear", "mean": 4.1},
            {**hunted, "bore": "1", "station": "in the valley", "mean": 4.0},
            {**hunted, "bore": "2", "station": "rear", "mean": 3.0, "contact": "below"},
        ]
    )


@pytest.mark.parametrize("layouts", [1, wall_draws.LAYOUTS])
def test_a_family_is_drawn_as_its_blocks_one_by_one(walls, drawn, monkeypatch, layouts) -> None:
    monkeypatch.setattr(wall_draws, "LAYOUTS", layouts)
    places = family(walls, drawn)
    model = wall_model(places)
    together = WallsToDraw(places, model)
    one, other = np.random.default_rng(8), np.random.default_rng(8)
    for block in ("W01", "W02", "W03", "W04", "W05"):
        same(together.draw(block, one, 30), block_draws(places, model, block, other, draws=30))
    assert "W02: no wall" in block_draws(places, model, "W02", one, draws=30).not_answered["4"]
    assert "not above" in block_draws(places, model, "W03", one, draws=30).not_answered["2"]
    for block in ("W09", "D01"):
        with pytest.raises(Refusal, match=f"no wall thickness of a block “{block}”"):
            together.draw(block, one)


def test_draws_lie_about_the_map_and_their_least_counts_places_hunted_for(walls, drawn) -> None:
    places = family(walls, drawn)
    model = wall_model(places)
    bore = block_draws(places, model, "W03", np.random.default_rng(5), draws=4000).bores["1"]
    mapped = wall_map(places, model, "W03", "1")
    for at in range(0, bore.degrees.size, 17):
        if bore.degrees[at] % 5 == 0 and bore.down[at] in mapped.down:
            row, column = mapped.down.tolist().index(bore.down[at]), int(bore.degrees[at] // 5)
            error = np.hypot(mapped.standard_error[row, column], places.gauge_uncertainty)
            assert bore.mean[at] == pytest.approx(mapped.wall[row, column], abs=1e-9)
            assert bore.draws[:, at].mean() == pytest.approx(bore.mean[at], abs=5 * error / 63)
    both = np.concatenate([bore.draws, bore.searched], axis=1)
    assert bore.searched.shape == (4000, 2)
    np.testing.assert_array_equal(bore.least, both.min(axis=1))
