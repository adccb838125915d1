import math

import numpy as np
import pytest

from workbench.castings.bores.between_bores import bridge_left, faces_neighbour, facing
from workbench.errors import Refusal
from workbench.records.settings import Drawing

PLAN = Drawing(bores=4, bore_diameter=86.0, bore_spacing=102.0, wall_thickness=4.5)


def test_bores_face_the_one_before_and_the_one_behind() -> None:
    first, middle, last = (facing(PLAN, bore, "mm") for bore in ("1", "2", "4"))
    assert [(side.neighbour, side.centre) for side in middle] == [("1", 0), ("3", 180)]
    assert [side.neighbour for side in (*first, *last)] == ["2", "3"]
    assert middle[0].bridge == 16
    assert middle[0].shared is False


def test_bores_closer_than_two_walls_share_their_metal() -> None:
    near = PLAN.model_copy(update={"bore_spacing": 94.0})
    assert facing(near, "2", "mm")[0].shared is True
    unknown = PLAN.model_copy(update={"wall_thickness": None})
    assert facing(unknown, "2", "mm")[0].shared is None


def test_a_line_in_the_sector_meets_the_neighbour_and_one_outside_does_not() -> None:
    """A line at angle a from the bore's centre passes the neighbour's centre at spacing sin(a)."""
    side = facing(PLAN, "1", "mm")[0]
    assert 102.0 * math.sin(math.radians(side.half_width)) == pytest.approx(43.0)
    degrees = np.array([180.0, 180 + side.half_width - 0.1, 180 + side.half_width + 0.1, 0])
    assert faces_neighbour(degrees, (side,)).tolist() == [True, True, False, False]
    front = facing(PLAN, "2", "mm")[:1]
    assert faces_neighbour(np.array([350.0, 10.0, 90.0]), front).tolist() == [True, True, False]


def test_bridge_left_after_boring() -> None:
    """Bores moved towards each other by 0.3 and 0.2 and bored by 1 on the diameter."""
    assert bridge_left(PLAN, "mm", 1.0, -0.3, 0.2) == pytest.approx(16 - 1 - 0.3 - 0.2)
    assert bridge_left(PLAN, "in", 0.0, 0.0, 0.0) == pytest.approx(16 / 25.4)


def test_refusals() -> None:
    with pytest.raises(Refusal, match="needs bores, bore_diameter, bore_spacing"):
        facing(None, "1", "mm")
    with pytest.raises(Refusal, match=r"needs bore_spacing\."):
        facing(PLAN.model_copy(update={"bore_spacing": None}), "1", "mm")
    with pytest.raises(Refusal, match="leave no metal"):
        facing(PLAN.model_copy(update={"bore_spacing": 86.0}), "1", "mm")
    with pytest.raises(Refusal, match="bores 1 to 4, not “5”"):
        facing(PLAN, "5", "mm")
    with pytest.raises(Refusal, match="not “left”"):
        facing(PLAN, "left", "mm")
