import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.castings.bores.core_shift import core_shifts
from workbench.castings.places import places_of
from workbench.errors import Refusal
from workbench.records.settings import Drawing, Settings

DEGREES = Settings(title="Invented")
SIX = ("0", "60", "120", "180", "240", "300")


def around(off_centre, x, y, stations, **more):
    return [{"station": name, "mean": off_centre(float(name), x, y), **more} for name in stations]


def test_shift_points_to_the_thinnest_wall_with_the_sign_stated(walls, off_centre) -> None:
    """A bore moved 0.4 mm to the rear and 0.3 mm to the left as seen from the deck (270 degrees).

    From an even number of equally spaced angles the exact eccentric bore gives the shift exactly.
    """
    rows = around(off_centre, -0.4, -0.3, SIX)
    found = core_shifts(walls(rows, DEGREES)).bore("W01", "1")
    assert (found.x, found.y) == pytest.approx((-0.4, -0.3), abs=1e-12)
    assert found.size == pytest.approx(0.5)
    assert found.direction == pytest.approx(180 + math.degrees(math.atan2(0.3, 0.4)))
    thinnest = min(range(0, 360), key=lambda degrees: off_centre(degrees, -0.4, -0.3))
    assert found.direction == pytest.approx(thinnest, abs=0.5)


@pytest.mark.parametrize("first", [0, 17, 50])
def test_three_angles_are_off_by_the_first_order_error_at_most(walls, off_centre, first) -> None:
    """s^2 / (4 R) for the shift, and as much for the mean wall."""
    x, y, outer = 0.6, -0.45, 48.0
    stations = [str(first + 120 * turn) for turn in range(3)]
    found = core_shifts(walls(around(off_centre, x, y, stations), DEGREES))
    bound = (x**2 + y**2) / (4 * outer) * 1.001
    depth = found.depths.iloc[0]
    assert 0 < math.hypot(depth["x"] - x, depth["y"] - y) < bound
    assert 0 < 5.0 - depth["wall"] < bound
    with pytest.raises(Refusal, match="a fourth angle in some bores"):
        found.bore("W01", "1")


@given(st.integers(-359, 359), st.floats(-1, 4), st.sampled_from(["mm", "in"]))
@settings(max_examples=25, deadline=None)
def test_turning_angles_turns_the_shift_and_a_constant_or_a_unit_does_nothing_else(
    turn, added, unit
) -> None:
    rng = np.random.default_rng(2)
    angles = np.array([0, 45, 120, 200, 260])
    wall = 5 - 0.3 * np.cos(np.radians(angles - 70)) + rng.normal(0, 0.05, 5)
    scale = 25.4 if unit == "in" else 1.0

    def shift(degrees, values, divisor):
        frame = wall_frame(degrees, values / divisor, unit if divisor > 1 else "mm")
        return core_shifts(places_of(frame, DEGREES)).bore("W01", "1")

    plain, other = shift(angles, wall, 1.0), shift(angles + turn, wall + added, scale)
    assert other.size * scale == pytest.approx(plain.size)
    assert other.p_value() == pytest.approx(plain.p_value(), rel=1e-6)
    assert (other.direction - plain.direction - turn + 180) % 360 - 180 == pytest.approx(
        0, abs=1e-6
    )


def wall_frame(degrees, values, unit):
    import pandas as pd

    return pd.DataFrame(
        {
            "family": "works", "block": "W01", "bore": "1", "depth": "middle",
            "station": [f"{d % 360}" for d in degrees], "quantity": "wall_thickness",
            "unit": unit, "gauge": "ug1", "sampling": "grid", "contact": "good",
            "n": 1, "mean": values, "ss": 0.0, "step": 1e-6,
        }
    )  # fmt: skip


def test_planted_shift_scatter_and_tilt_are_found(walls, drawn) -> None:
    rows = drawn(np.random.default_rng(5), blocks=30)
    down = {"top": 10.0, "middle": 60.0, "bottom": 110.0}
    for row in rows:  # every bore leans by 0.002 mm towards 0 degrees for a mm of depth
        turn = {"front": 1, "rear": -1}.get(row["station"], 0)
        row["mean"] -= 0.002 * (down[row["depth"]] - 60) * turn
    found = core_shifts(walls(rows))
    scatter = found.scatter["works"]
    # 30 x 4 x 3 circles leave one degree each, less one at each depth for the shared shape.
    assert scatter.degrees_of_freedom == 357
    assert scatter.variance == pytest.approx(0.01, abs=4 * 0.01 * math.sqrt(2 / 357))
    error = 0.1 / math.sqrt(2 * 12 / 4 * 30 * 4)
    assert found.bores[["x", "y"]].mean().to_numpy() == pytest.approx([0, 0.15], abs=4 * error)
    tilt = found.bores[["lean_x", "lean_y"]].mean().to_numpy()
    of_tilt = math.sqrt(0.01 / (2 * 2 * 50**2) / 2 / 30)
    assert tilt == pytest.approx([0.002, 0], abs=4 * of_tilt)
    one = found.tilt("W01", "2")
    assert one.vxx == pytest.approx(scatter.variance / (2 * 2 * 50**2))


def test_region_of_a_bore_covers(walls, drawn) -> None:
    rng = np.random.default_rng(6)
    hits = tried = 0
    for _ in range(20):
        found = core_shifts(walls(drawn(rng, blocks=3)))
        for block, bore in zip(found.bores["block"], found.bores["bore"], strict=True):
            hits += found.bore(block, bore).p_value(0.0, 0.15) >= 0.05
            tried += 1
    assert hits / tried == pytest.approx(0.95, abs=0.045)


def test_a_shape_all_blocks_share_neither_widens_nor_bends_a_shift(walls, drawn) -> None:
    """A core box that is out of round by 0.05 mm, and bores that lack a station."""
    rng = np.random.default_rng(7)
    plain = drawn(rng, blocks=20)
    oval = {"front": 0.05, "rear": 0.05, "thrust": -0.05, "counter": -0.05}
    shaped = [{**row, "mean": row["mean"] + oval[row["station"]]} for row in plain]
    kept = [at for at in range(len(plain)) if at % 17]
    before = core_shifts(walls([plain[at] for at in kept]))
    after = core_shifts(walls([shaped[at] for at in kept]))
    assert after.scatter["works"].variance == pytest.approx(before.scatter["works"].variance)
    difference = after.bores[["x", "y"]] - before.bores[["x", "y"]]
    assert np.abs(difference.to_numpy()).max() < 1e-9


def test_repeating_one_place_gives_it_no_more_weight_than_its_iron_allows(walls, drawn) -> None:
    rows = drawn(np.random.default_rng(8), blocks=10)
    often = [
        {**row, "n": 100, "ss": 99 * 0.02**2} if row["station"] == "front" else row for row in rows
    ]
    plain, repeated = core_shifts(walls(rows)), core_shifts(walls(often))
    # Places scatter by 0.1 and readings by 0.02, so a place read 100 times weighs 4 % more.
    ratio = repeated.bores["vxx"].mean() / plain.bores["vxx"].mean()
    assert ratio == pytest.approx(1.0, abs=0.05)


def test_reasons_for_what_is_not_determined(walls, off_centre) -> None:
    rows = [
        *around(off_centre, 0.1, 0.2, SIX, bore="1"),
        *around(off_centre, 0.1, 0.2, ("0", "180"), bore="2"),
        *around(off_centre, 0.1, 0.2, ("0", "1", "2"), bore="3"),
        *around(off_centre, 0.1, 0.2, SIX, bore="4", depth="10"),
        *around(off_centre, 0.1, 0.2, SIX, bore="4", depth="deep"),
        {"bore": "5", "station": "somewhere"},
    ]
    found = core_shifts(walls(rows, DEGREES))
    assert found.bores["reason"].tolist() == ["", "too_few_angles", "angles_too_near", ""]
    with pytest.raises(Refusal, match="bore 2 of W01: fewer than three angles"):
        found.bore("W01", "2")
    with pytest.raises(Refusal, match="so near each other"):
        found.depth("W01", "3", "middle")
    with pytest.raises(Refusal, match="at one depth only"):
        found.tilt("W01", "1")
    with pytest.raises(Refusal, match=r"drawing\.depths"):
        found.tilt("W01", "4")
    with pytest.raises(Refusal, match="bore “5”"):
        found.bore("W01", "5")
    assert found.depth("W01", "1", "middle").x == pytest.approx(0.1, abs=1e-12)


def test_no_angles_at_all(walls) -> None:
    drawing = Drawing(stations={})
    with pytest.raises(Refusal, match="name the stations"):
        core_shifts(walls([{"station": "front"}], Settings(title="Invented", drawing=drawing)))
    with pytest.raises(Refusal, match="name the stations"):
        core_shifts(walls([{"station": "front"}], DEGREES))
