import math

import numpy as np
import pytest

from workbench.castings.bores.boring import boring_allowance
from workbench.castings.bores.wall_draws import block_draws
from workbench.castings.bores.wall_limits import WallLimits
from workbench.castings.bores.wall_model import wall_model
from workbench.castings.cautions import CAUTIONS
from workbench.castings.stated_rules import Boring
from workbench.errors import Refusal
from workbench.inference.directions.offset_program import best_offset
from workbench.records.settings import Settings

THREE = WallLimits(unit="mm", everywhere=3.0)
STATIONS = {"front": 0.0, "thrust": 90.0, "rear": 180.0, "counter": 270.0}


@pytest.fixture
def drawn_block(walls, drawn):
    """Give draws of W01 for rows, by default of planted walls."""

    def make(rows=None, settings=None, **given):
        rows = drawn(np.random.default_rng(1)) if rows is None else rows
        places = walls(rows, **({"settings": settings} if settings else {}), **given)
        draws = block_draws(places, wall_model(places), "W01", np.random.default_rng(2))
        return draws, places.gauge_uncertainty

    return make


def allowed(made, limits=THREE, asked=None, drawing=None, confidence=0.95):
    draws, shared = made
    return boring_allowance(
        draws,
        limits,
        asked=asked,
        drawing=drawing,
        gauge_uncertainty=shared,
        confidence=confidence,
    )


def test_a_shifted_bore_without_error_in_closed_form(drawn_block, drawn) -> None:
    """Walls 4.6 - 0.3 cos: about its own centre 2 (4.3 - 3); about the best one 2 (4.6 - 3)."""
    rows = drawn(np.random.default_rng(3), shift=(0.3, 0.0), place_sd=0.0)
    exact = [{**row, "step": 1e-6} for row in rows]
    found = allowed(drawn_block(exact, gauge_uncertainty=0.0))
    bore = found.bores["2"]
    assert bore.central.overbore == pytest.approx(2.6, abs=1e-4)
    assert bore.best.overbore == pytest.approx(3.2, abs=1e-3)
    assert (bore.best.offset.size, bore.best.offset.direction) == pytest.approx((0.3, 180), abs=0.5)
    assert found.one_size == pytest.approx(3.2, abs=1e-3)
    limited = allowed(drawn_block(exact, gauge_uncertainty=0.0), asked=Boring(largest_offset=0.1))
    assert limited.one_size == pytest.approx(2.8, abs=1e-3)


def test_overbore_leaves_exactly_what_is_asked_at_the_confidence(drawn_block, drawn) -> None:
    found = allowed(drawn_block(), confidence=0.9)
    at = found.at(found.one_size)
    assert at.probability == pytest.approx(0.9, abs=0.01)
    assert found.at(found.one_size - 0.05).probability > at.probability
    assert found.at(found.one_size + 0.05).probability < at.probability
    for name, bore in found.bores.items():
        assert bore.best.overbore >= bore.central.overbore
        left = found.rooms[name].least_wall(bore.central.overbore / 2, bore.central.offset)
        assert np.mean(left >= 3.0) == pytest.approx(0.9, abs=0.01)
    assert found.one_size >= found.central
    assert found.one_size <= min(bore.best.overbore for bore in found.bores.values()) + 0.05


def test_sleeving_the_limiting_bore_frees_the_others(drawn_block, drawn) -> None:
    rows = [
        {**row, "mean": row["mean"] - 0.5 * (row["bore"] == "3")}
        for row in drawn(np.random.default_rng(4), place_sd=0.03)
    ]
    found = allowed(drawn_block(rows))
    assert found.limiting == "3"
    assert found.if_sleeved["3"] > found.one_size + 0.8
    others = [found.if_sleeved[bore] for bore in ("1", "2", "4")]
    assert others == pytest.approx([found.one_size] * 3, abs=0.05)


def test_listed_sizes_and_what_they_leave(drawn_block, settings) -> None:
    asked = Boring(oversizes=[0.5, 3.2, 12.0], clean_up=0.5)
    found = allowed(drawn_block(), asked=asked, drawing=settings.drawing)
    small, middle, large = found.sizes
    assert (small.outcome, small.cleans_up) == ("fits", False)
    assert all(offset.size == 0 for offset in small.offsets.values())
    assert large.outcome == "does_not_fit"
    assert large.cuts_through
    assert large.least_wall.high < 0
    assert not middle.cuts_through
    assert small.probability >= middle.probability >= large.probability
    each = [found.least_wall(bore, 0.5).estimate for bore in found.bores]
    assert small.least_wall.estimate <= min(each) + 1e-9
    assert found.cautions == CAUTIONS


def test_an_offset_of_zero_and_an_empty_list_are_answered(drawn_block) -> None:
    found = allowed(drawn_block(), asked=Boring(largest_offset=0.0, oversizes=[]))
    assert found.sizes == ()
    assert found.one_size == found.central
    assert all(bore.best.offset.size == 0 for bore in found.bores.values())


def test_a_wall_that_is_short_already_says_by_how_much(drawn_block, settings) -> None:
    high = WallLimits(unit="mm", everywhere=6.0)
    found = allowed(drawn_block(), limits=high, drawing=settings.drawing)
    assert found.one_size < -2
    assert found.mass_removed is None
    assert "no room" in found.not_answered["mass_removed"]


def test_side_figures_come_from_the_drawing_or_are_refused(drawn_block, settings) -> None:
    found = allowed(drawn_block(), drawing=settings.drawing)
    assert list(found.bridges) == ["1", "2", "3"]
    first, second = found.offsets["1"], found.offsets["2"]
    assert found.bridges["1"] == pytest.approx(16 - found.one_size + first.x - second.x)
    assert found.mass_removed > 0
    bare = allowed(drawn_block())
    assert bare.mass_removed is None
    assert bare.bridges == {}
    assert set(bare.not_answered) == {"bridges", "mass_removed"}
    assert bare.one_size == pytest.approx(found.one_size)


def test_inches_give_the_same_room(drawn_block, drawn) -> None:
    rows = drawn(np.random.default_rng(5))
    inches = [
        {**row, "mean": row["mean"] / 25.4, "unit": "in", "step": 0.01 / 25.4} for row in rows
    ]
    asked = Boring(oversizes=[1.0], largest_offset=0.2, clean_up=0.1)
    mm, inch = (allowed(drawn_block(these), asked=asked) for these in (rows, inches))
    assert inch.one_size * 25.4 == pytest.approx(mm.one_size, rel=1e-4)
    assert inch.sizes[0].probability == pytest.approx(mm.sizes[0].probability, abs=1e-3)
    in_inches = WallLimits(unit="in", everywhere=3.0 / 25.4)
    assert allowed(drawn_block(rows), limits=in_inches, asked=asked).one_size == pytest.approx(
        mm.one_size, rel=1e-9
    )


def test_a_hunted_place_of_unknown_angle_counts_in_every_direction(drawn_block, drawn) -> None:
    rows = drawn(np.random.default_rng(6), shift=(0.0, 0.3), place_sd=0.03)
    thin = {"block": "W01", "bore": "1", "sampling": "search", "mean": 3.8}
    at_rear = allowed(drawn_block([*rows, {**thin, "station": "rear"}])).bores["1"]
    unknown = allowed(drawn_block([*rows, {**thin, "station": ""}])).bores["1"]
    plain = allowed(drawn_block(rows)).bores["1"]
    assert unknown.best.overbore < at_rear.best.overbore < plain.best.overbore
    assert unknown.best.overbore == pytest.approx(unknown.central.overbore, abs=0.02)
    assert unknown.central.overbore == pytest.approx(2 * (3.8 - 3.0 - 1.645 * 0.03), abs=0.02)


def test_classes_of_stations_have_their_own_wall(drawn_block) -> None:
    made = drawn_block()
    thrust = WallLimits(unit="mm", everywhere=3.0, stations=STATIONS, at={"thrust": 4.0})
    assert allowed(made, limits=thrust).central == pytest.approx(
        allowed(made).central - 2.0, abs=0.25
    )
    only = WallLimits(unit="mm", stations=STATIONS, at={"rear": 3.0})
    assert allowed(made, limits=only).central > allowed(made).central


def test_stated_confidence_is_kept(walls, drawn) -> None:
    """The wall is known on a fine grid, of which a third is read; bored as allowed it stands."""
    rng = np.random.default_rng(7)
    fine = {f"{degrees}": float(degrees) for degrees in range(0, 360, 30)}
    turn = np.radians(list(fine.values()))
    stood = stood_moved = 0
    for _ in range(60):
        truth = drawn(
            rng, blocks=3, bores=2, angles=fine, bore_sd=0.15, depths={"10": 10.0, "60": 60.0}
        )
        read = [row for row in truth if int(row["station"]) % 90 == 0]
        places = walls(read, Settings(title="Invented"), gauge_uncertainty=0.0)
        draws = block_draws(places, wall_model(places), "W01", rng, draws=600)
        found = boring_allowance(draws, THREE, confidence=0.9)
        mine = {
            bore: np.array(
                [r["mean"] for r in truth if r["block"] == "W01" and r["bore"] == bore]
            ).reshape(2, 12)
            for bore in ("1", "2")
        }
        stood += all(wall.min() - found.central / 2 >= 3.0 for wall in mine.values())
        stood_moved += all(
            (
                wall - found.offsets[bore].x * np.cos(turn) - found.offsets[bore].y * np.sin(turn)
            ).min()
            - found.one_size / 2
            >= 3.0
            for bore, wall in mine.items()
        )
    assert stood / 60 >= 0.8
    assert stood_moved / 60 >= 0.8


def test_refusals(walls, drawn, drawn_block) -> None:
    rows = drawn(np.random.default_rng(8))
    gap = [r for r in rows if r["bore"] != "2" or r["station"] != "counter"]
    with pytest.raises(Refusal, match="Bore 2 of W01: some angles"):
        allowed(drawn_block(gap))
    two = [r for r in rows if r["bore"] != "2" or r["station"] in ("front", "rear")]
    with pytest.raises(Refusal, match="Bore 2 of W01: Fewer than three"):
        allowed(drawn_block(two))
    with pytest.raises(Refusal, match="Confidence"):
        allowed(drawn_block(), confidence=math.nan)


@pytest.mark.parametrize("thrust", [3.0, 4.0])
def test_what_a_room_remembers_is_what_it_would_find_anew(drawn_block, thrust: float) -> None:
    """Against walls cut by the formula and centres searched for by themselves, in any order."""
    limits = WallLimits(unit="mm", everywhere=3.0, stations=STATIONS, at={"thrust": thrust})
    found = allowed(drawn_block(), limits, Boring(oversizes=[0.5, 1.0], largest_offset=0.2))
    room = found.rooms["3"]
    cosine, sine = np.cos(np.radians(room.degrees)), np.sin(np.radians(room.degrees))
    for cut in (0.9, 0.1, 0.5, 0.1, 0.9, 0.02):
        within = min(0.2, cut - 0.05)
        own = room.offset_for(cut, 0.2, 0.05)
        if within > 0:
            anew = best_offset(room.degrees, room.safe, cut=cut, limit=within)
            assert (own.x, own.y, own.cut) == (anew.x, anew.y, cut)
            assert own.least == pytest.approx(anew.least, abs=1e-12)
        else:
            assert own.size == 0
        taken = own.x * cosine + own.y * sine
        left = room.walls - taken
        assert room.least_wall(cut, own) == pytest.approx(left.min(axis=1) - cut, abs=1e-12)
        spare = (left - limits.required(room.degrees)).min(axis=1)
        assert room.least_room(own) == pytest.approx(spare, abs=1e-12)
