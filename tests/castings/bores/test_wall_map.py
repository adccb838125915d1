import numpy as np
import pytest

from workbench.castings.bores.wall_draws import block_draws
from workbench.castings.bores.wall_map import least_wall, wall_map
from workbench.castings.bores.wall_model import wall_model
from workbench.errors import Refusal
from workbench.records.settings import Settings


def test_map_goes_through_places_read_a_hundred_times(walls, drawn, settings) -> None:
    rows = [{**row, "n": 100, "ss": 99 * 0.02**2} for row in drawn(np.random.default_rng(1))]
    places = walls(rows)
    found = wall_map(places, wall_model(places), "W03", "2", settings.drawing)
    for place in found.places.itertuples():
        row = found.depths.index(place.depth)
        column = int(np.flatnonzero(found.degrees == place.angle)[0])
        assert found.wall[row, column] == pytest.approx(place.mean, abs=0.002)
        assert found.standard_error[row, column] < 0.0025
    assert found.standard_error.max() > 0.05


def test_map_of_a_bore_that_is_only_shifted_is_its_harmonic(walls, drawn, settings) -> None:
    places = walls(drawn(np.random.default_rng(2), place_sd=0.0, shift=(0.3, 0.0)))
    found = wall_map(places, wall_model(places), "W01", "1", settings.drawing)
    truth = 4.6 - 0.3 * np.cos(np.radians(found.degrees))
    assert np.abs(found.wall - truth).max() < 1e-6
    thin = found.thinnest
    assert (thin.wall, thin.degrees) == (pytest.approx(4.3), 0)
    assert thin.standard_error >= places.gauge_uncertainty


def test_turning_all_stations_turns_the_map(walls, drawn) -> None:
    degrees = Settings(title="Invented")
    angles = {"0": 0.0, "90": 90.0, "180": 180.0, "270": 270.0}
    turned = {"45": 45.0, "135": 135.0, "225": 225.0, "315": 315.0}
    depths = {"10": 10.0, "60": 60.0}
    maps = []
    for stations in (angles, turned):
        rows = drawn(np.random.default_rng(3), angles=angles, depths=depths)
        names = dict(zip(angles, stations, strict=True))
        places = walls([{**row, "station": names[row["station"]]} for row in rows], degrees)
        maps.append(wall_map(places, wall_model(places), "W01", "1").wall)
    assert np.roll(maps[0], 9, axis=1) == pytest.approx(maps[1], abs=1e-6)


def test_nothing_is_said_beyond_what_was_read(walls, drawn) -> None:
    rows = [row for row in drawn(np.random.default_rng(4)) if row["station"] != "counter"]
    places = walls([*rows, *drawn(np.random.default_rng(4), family="other")])
    found = wall_map(places, wall_model(places), "W01", "1")
    empty = np.isnan(found.wall).all(axis=0)
    assert found.degrees[empty].tolist() == list(range(245, 300, 5))
    assert (found.down.min(), found.down.max()) == (10.0, 110.0)
    draws = block_draws(places, wall_model(places), "W01", np.random.default_rng(1), draws=50)
    assert not draws.all_round
    assert draws.bores["1"].degrees.max() == 345
    assert not ((draws.bores["1"].degrees > 240) & (draws.bores["1"].degrees < 300)).any()


def test_sides_that_face_a_neighbour_are_marked(walls, drawn, settings) -> None:
    places = walls(drawn(np.random.default_rng(5)))
    model = wall_model(places)
    found = wall_map(places, model, "W01", "1", settings.drawing)
    assert found.degrees[found.between].tolist() == list(range(160, 205, 5))
    plain = wall_map(places, model, "W01", "1")
    assert not plain.between.any()
    assert "needs bores" in plain.not_answered["between"]
    assert plain.wall == pytest.approx(found.wall)


def test_depths_without_positions_are_mapped_one_by_one(walls, drawn, settings) -> None:
    rows = [{**row, "depth": f"x{row['depth']}"} for row in drawn(np.random.default_rng(6))]
    places = walls(rows)
    found = wall_map(places, wall_model(places), "W01", "1", settings.drawing)
    assert found.depths == ("xbottom", "xmiddle", "xtop")
    assert np.isnan(found.down).all()
    assert found.wall.shape == (3, 72)


def test_draws_of_a_block_agree_with_the_map_and_share_one_error(walls, drawn) -> None:
    places = walls(drawn(np.random.default_rng(7)))
    model = wall_model(places)
    draws = block_draws(places, model, "W02", np.random.default_rng(2), draws=4000)
    bore = draws.bores["3"]
    error = np.hypot(bore.standard_error, places.gauge_uncertainty) / np.sqrt(4000)
    assert (np.abs(bore.draws.mean(axis=0) - bore.mean) < 5 * error).all()
    found = wall_map(places, model, "W02", "3")
    at = (bore.degrees == 90) & (bore.down == 60.0)
    row = found.depths.index("middle")
    assert bore.mean[at] == pytest.approx([found.wall[row, 18]])
    centred = [one.draws.mean(axis=1) - one.draws.mean() for one in draws.bores.values()]
    shared = np.mean([a @ b for a in centred for b in centred if a is not b]) / 4000
    assert shared == pytest.approx(places.gauge_uncertainty**2, rel=0.3)


def test_searched_places_only_lower_the_least_wall(walls, drawn) -> None:
    rows = drawn(np.random.default_rng(8))
    thin = {"block": "W01", "bore": "1", "sampling": "search", "station": "", "mean": 3.2}
    thick = {**thin, "mean": 6.0}
    answers = []
    for more in ([], [thick], [thin]):
        places = walls([*rows, *more])
        draws = block_draws(places, wall_model(places), "W01", np.random.default_rng(3))
        answers.append(least_wall(draws, "1"))
    plain, with_thick, with_thin = answers
    assert with_thick.estimate == pytest.approx(plain.estimate, abs=0.02)
    assert with_thin.estimate == pytest.approx(3.2, abs=0.01)
    assert with_thin.low == pytest.approx(
        3.2 - 1.96 * np.hypot(0.03, places.step / 12**0.5), abs=0.01
    )


def test_least_wall_lies_below_the_least_estimate_and_keeps_its_unit(walls, drawn) -> None:
    rows = drawn(np.random.default_rng(9))
    inches = [
        {**row, "mean": row["mean"] / 25.4, "unit": "in", "step": 0.01 / 25.4} for row in rows
    ]
    answers = []
    for these in (rows, inches):
        places = walls(these)
        draws = block_draws(places, wall_model(places), "W01", np.random.default_rng(4))
        answers.append((least_wall(draws), wall_map(places, wall_model(places), "W01", "1")))
    (mm, mm_map), (inch, inch_map) = answers
    assert inch.estimate * 25.4 == pytest.approx(mm.estimate, rel=1e-6)
    assert inch_map.wall * 25.4 == pytest.approx(mm_map.wall, rel=1e-6)
    each = [least_wall(draws, bore).estimate for bore in draws.bores]
    assert inch.estimate < min(each)


def test_lower_bound_of_the_least_wall_covers(walls, drawn) -> None:
    """Iron that differs from place to place on a fine grid, of which every third angle is read."""
    rng = np.random.default_rng(10)
    fine = {f"{degrees}": float(degrees) for degrees in range(0, 360, 30)}
    hits = 0
    for _ in range(60):
        truth = drawn(rng, blocks=2, angles=fine, depths={"10": 10.0, "60": 60.0, "110": 110.0})
        read = [row for row in truth if int(row["station"]) % 90 == 0]
        places = walls(read, Settings(title="Invented"))
        draws = block_draws(places, wall_model(places), "W01", rng, draws=500)
        least = min(row["mean"] for row in truth if row["block"] == "W01")
        hits += least >= np.quantile(
            np.min([bore.least for bore in draws.bores.values()], axis=0), 0.1
        )
    assert hits / 60 >= 0.8


def test_refusals(walls, drawn) -> None:
    rows = drawn(np.random.default_rng(11), blocks=2)
    places = walls(rows)
    model = wall_model(places)
    with pytest.raises(Refusal, match="bore 9 of W01"):
        wall_map(places, model, "W01", "9")
    with pytest.raises(Refusal, match="block “X”"):
        block_draws(places, model, "X", np.random.default_rng(1))
    half = [row for row in rows if row["bore"] != "2" or row["station"] in ("front", "rear")]
    draws = block_draws(walls(half), model, "W01", np.random.default_rng(1), draws=20)
    assert list(draws.bores) == ["1", "3", "4"]
    assert not draws.all_round
    with pytest.raises(Refusal, match="Bore 2 of W01: Fewer than three"):
        least_wall(draws, "2")
    with pytest.raises(Refusal, match="Bore 2 of W01: Fewer than three"):
        least_wall(draws)
    arc = [row for row in rows if row["bore"] != "3" or row["station"] != "counter"]
    open_side = block_draws(walls(arc), model, "W01", np.random.default_rng(1), draws=20)
    for bore in ("3", None):
        with pytest.raises(Refusal, match="Bore 3 of W01: some angles lie further than 60"):
            least_wall(open_side, bore)
    assert least_wall(open_side, "1").low < least_wall(open_side, "1").high
    two = walls([row for row in rows if row["station"] in ("front", "rear")])
    with pytest.raises(Refusal, match="Bore 1 of W01: Fewer than three"):
        block_draws(two, model, "W01", np.random.default_rng(1))
    with pytest.raises(Refusal, match="three angles"):
        wall_model(two)
    with pytest.raises(Refusal, match="bore and an angle"):
        wall_model(walls([{"station": "somewhere"}]))
    with pytest.raises(Refusal, match="bore and an angle"):
        block_draws(walls([{"station": "somewhere"}]), model, "W01", np.random.default_rng(1))
