import numpy as np
import pytest

from workbench.castings.bores.bore_shape import bore_shapes
from workbench.castings.bores.core_shift import core_shifts

SIX = {str(degrees): float(degrees) for degrees in range(0, 360, 60)}


def test_each_part_is_what_it_is_by_itself(walls, drawn) -> None:
    places = walls(drawn(np.random.default_rng(1), bores=2, angles=SIX))
    shifts = core_shifts(places)
    found = bore_shapes(places, shifts, "W01")
    assert [one.bore for one in found] == ["1", "2"]
    assert found[0].depths["top"] == shifts.depth("W01", "1", "top")
    assert found[0].lean == shifts.tilt("W01", "1")
    assert found[0].out_of_round is not None
    assert found[0].out_of_round.p_value > 0.001
    assert found[0].not_answered == {}


def test_an_oval_core_box_is_shown_as_out_of_round(walls, drawn) -> None:
    """Wall 4.6 - 0.2 cos 2(a - 30): thin at 30 and 210 degrees by 0.2."""
    rows = drawn(np.random.default_rng(2), blocks=1, bores=1, angles=SIX, place_sd=0.005)
    oval = [
        {**row, "mean": row["mean"] - 0.2 * np.cos(np.radians(2 * (float(row["station"]) - 30)))}
        for row in rows
    ]
    places = walls(oval)
    (one,) = bore_shapes(places, core_shifts(places), "W01")
    assert one.out_of_round is not None
    assert one.out_of_round.amplitude == pytest.approx(0.2, abs=0.01)
    assert one.out_of_round.thin_at == pytest.approx(30, abs=2)
    assert one.out_of_round.p_value < 1e-6


def test_what_is_not_determined_says_why(walls, drawn) -> None:
    places = walls(drawn(np.random.default_rng(3), depths={"top": 10.0}))
    (first, *_) = bore_shapes(places, core_shifts(places), "W01")
    assert "one depth" in first.not_answered["lean"]
    assert "out of round needs 5" in first.not_answered["out_of_round"]
    assert list(first.depths) == ["top"]
