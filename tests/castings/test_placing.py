from dataclasses import replace

import numpy as np
import pytest

from workbench.castings.block_figures import KINDS, block_and_others
from workbench.castings.bores.core_shift import core_shifts
from workbench.castings.placing import place_block
from workbench.errors import Refusal
from workbench.inference.means.single_case import single_case

BY_NAME = {kind.name: kind for kind in KINDS}


def figure(placed, name):
    return next(one for one in placed.figures if one.name == name)


def test_every_figure_is_the_single_case_of_the_other_blocks(inspected) -> None:
    inspection = inspected(np.random.default_rng(1))
    placed = place_block(inspection, "W03")
    assert [one.name for one in placed.figures] == list(BY_NAME)
    for one in placed.figures:
        both = block_and_others(inspection, "W03", BY_NAME[one.name])
        known = single_case(both.value, both.others)
        assert both.others.size == 11
        assert one.percentile == pytest.approx(100 * known.share_below)
        interval, share = one.percentile_interval(0.9), known.share_below_interval(0.9)
        assert (interval.low, interval.high) == pytest.approx((100 * share.low, 100 * share.high))
        assert one.adjusted_p >= known.p_value


def test_an_odd_block_is_called_unusual_for_what_is_odd(inspected) -> None:
    heavy = [{
        "quantity": "mass", "block": "W99", "bore": "", "depth": "", "station": "", "unit": "kg",
        "mean": 48.0,
    }]  # fmt: skip
    inspection = inspected(np.random.default_rng(2), more=heavy)
    placed = place_block(inspection, "W99")
    assert [one.name for one in placed.unusual()] == ["mass"]
    assert figure(placed, "mass").percentile > 99
    assert set(placed.not_answered) == set(BY_NAME) - {"mass"}
    assert "no mean wall of W99" in placed.not_answered["mean_wall"]


def test_a_place_left_out_moves_no_mean(inspected) -> None:
    """The thrust side is 1 mm thinner everywhere; a block without it must not look thicker."""
    rng = np.random.default_rng(3)
    full = inspected(rng, place_sd=0.02, shift=(0.0, 0.5))
    walls = full.of("wall_thickness")
    gone = (walls.places["block"] == "W01") & (walls.places["station"] == "thrust")
    cut = replace(walls, places=walls.places[~gone].reset_index(drop=True))
    others = replace(full, places={**full.places, "wall_thickness": cut})
    lacking = replace(others, shifts=core_shifts(cut))
    kind = BY_NAME["mean_wall"]
    values = [block_and_others(one, "W01", kind).value for one in (full, lacking)]
    assert values[0] == pytest.approx(values[1], abs=0.02)
    assert walls.places[gone]["mean"].mean() < values[0] - 0.4
    none_round = replace(others, shifts=None, not_answered={"core_shift": "no angles"})
    placed = place_block(none_round, "W01")
    known = figure(place_block(full, "W01"), "mean_wall")
    assert figure(placed, "mean_wall").percentile == pytest.approx(known.percentile, abs=12)


def test_blocks_read_at_unlike_angles_compare_by_their_means_round_the_bore(inspected) -> None:
    """Five angles of its own, core far off: thick by 0.1 mm, and that is found, planted exactly."""
    turned = [
        {
            "quantity": "wall_thickness", "block": "W90", "bore": bore, "depth": depth,
            "station": f"{angle}", "mean": 4.7 - 0.6 * np.cos(np.radians(angle - 40)),
        }
        for bore in "1234" for depth in ("top", "middle", "bottom") for angle in range(0, 360, 72)
    ]  # fmt: skip
    inspection = inspected(np.random.default_rng(10), more=turned, place_sd=0.01)
    both = block_and_others(inspection, "W90", BY_NAME["mean_wall"])
    assert both.value == pytest.approx(4.7, abs=1e-6)
    assert both.others.size == 12
    assert both.others == pytest.approx(np.full(12, 4.6), abs=0.02)
    placed = place_block(inspection, "W90")
    assert "no other block of its family was read where it was" in placed.not_answered["thinnest"]


def test_deck_places_of_its_own_do_not_make_a_block_ordinary(inspected) -> None:
    """Places nobody else has say nothing; with too few shared ones the block has no place."""
    own = {
        "quantity": "deck_thickness", "block": "W91", "depth": "", "mean": 14.0,
    }  # fmt: skip
    shared = [{**own, "bore": bore, "station": "thrust"} for bore in "12"]
    lonely = [{**own, "bore": "9", "station": f"{at}"} for at in range(2)]
    rng = np.random.default_rng(12)
    placed = place_block(inspected(rng, more=[*shared, *lonely]), "W91")
    assert figure(placed, "deck").percentile > 99
    more = [{**own, "bore": "9", "station": f"{at}"} for at in range(9)]
    placed = place_block(inspected(rng, more=[*shared, *more]), "W91")
    assert "mean deck of W91 cannot be placed" in placed.not_answered["deck"]


def test_the_thinnest_is_compared_on_the_places_of_the_block(inspected) -> None:
    full = inspected(np.random.default_rng(4))
    walls = full.of("wall_thickness")
    few = (walls.places["block"] != "W01") | (walls.places["bore"] == "1")
    cut = replace(walls, places=walls.places[few].reset_index(drop=True))
    lacking = replace(full, places={**full.places, "wall_thickness": cut})
    both = block_and_others(lacking, "W01", BY_NAME["thinnest"])
    bore = walls.places[walls.places["bore"] == "1"].groupby("block")["mean"].min()
    assert both.value == pytest.approx(bore["W01"])
    assert sorted(both.others) == pytest.approx(sorted(bore.drop("W01")))


def test_a_block_with_many_more_places_is_compared_with_none_that_lack_them(inspected) -> None:
    full = inspected(np.random.default_rng(5), blocks=4)
    walls = full.of("wall_thickness")
    few = (walls.places["block"] == "W01") | (walls.places["bore"] == "1")
    cut = replace(walls, places=walls.places[few].reset_index(drop=True))
    lacking = replace(full, places={**full.places, "wall_thickness": cut})
    placed = place_block(lacking, "W01")
    assert "at least 2" in placed.not_answered["thinnest"]


def test_percentiles_do_not_know_the_unit(inspected) -> None:
    inspection = inspected(np.random.default_rng(6))
    deck = inspection.of("deck_thickness")
    scaled = replace(deck, unit="in", places=deck.places.assign(mean=deck.places["mean"] / 25.4))
    inches = replace(inspection, places={**inspection.places, "deck_thickness": scaled})
    one, other = (figure(place_block(each, "W02"), "deck") for each in (inspection, inches))
    assert other.percentile == pytest.approx(one.percentile)
    assert (one.unit, other.unit) == ("mm", "in")


def test_ordinary_blocks_are_seldom_unusual(inspected) -> None:
    unusual = sum(
        bool(place_block(inspected(np.random.default_rng(seed)), "W05").unusual())
        for seed in range(40, 70)
    )
    assert unusual <= 5


def test_a_lone_block_cannot_be_placed(inspected) -> None:
    placed = place_block(inspected(np.random.default_rng(7), blocks=1), "W01")
    assert placed.figures == ()
    assert placed.unusual() == ()
    assert len(placed.not_answered) == len(KINDS)


def test_refusals(inspected) -> None:
    inspection = inspected(np.random.default_rng(8), blocks=2)
    with pytest.raises(Refusal, match="block “X”"):
        place_block(inspection, "X")
    with pytest.raises(Refusal, match="Confidence"):
        place_block(inspection, "W01").unusual(1.0)


def test_a_place_known_only_to_be_below_is_said_beside_what_it_is_left_out_of(inspected) -> None:
    limited = [{
        "quantity": "wall_thickness", "block": "W03", "bore": "9", "depth": "top",
        "station": "thrust", "mean": 2.5, "contact": "below",
    }]  # fmt: skip
    inspection = inspected(np.random.default_rng(3), more=limited)
    (said,) = place_block(inspection, "W03").too_high
    assert "1 place was read only as not above a value (bore 9, thrust, top: 2.500 mm)" in said
    assert "Left out of mean wall and thinnest wall read, which so lie too high" in said
    assert "the core shift is fitted without it, and may be wrong either way" in said
    (said,) = place_block(inspection, "W04").too_high
    assert "1 of the other blocks has places read only as not above" in said
    assert place_block(inspected(np.random.default_rng(3)), "W03").too_high == ()
