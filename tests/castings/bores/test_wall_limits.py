import math

import numpy as np
import pytest

from workbench.castings.bores.wall_limits import WallLimits
from workbench.errors import Refusal

STATIONS = {"front": 0.0, "thrust": 90.0, "rear": 180.0, "counter": 270.0}


def test_an_angle_belongs_to_its_nearest_station() -> None:
    limits = WallLimits(
        unit="mm", everywhere=3.0, stations=STATIONS, at={"thrust": 4.0, "counter": 3.5}
    )
    degrees = np.array([0.0, 44, 46, 134, 136, 226, 300, 359, math.nan])
    assert limits.required(degrees).tolist() == [3, 3, 4, 4, 3, 3.5, 3.5, 3, 4]
    assert limits.strictest == 4.0


def test_only_classes_ask_nothing_elsewhere() -> None:
    limits = WallLimits(unit="mm", stations=STATIONS, at={"thrust": 4.0})
    assert limits.required(np.array([90.0, 0.0])).tolist() == [4.0, -math.inf]


def test_one_limit_everywhere_needs_no_drawing() -> None:
    assert WallLimits(unit="mm", everywhere=3.0).required(np.array([12.0, math.nan])).tolist() == [
        3.0,
        3.0,
    ]


def test_refusals() -> None:
    with pytest.raises(Refusal, match="No least wall"):
        WallLimits(unit="mm")
    with pytest.raises(Refusal, match="No least wall"):
        WallLimits(unit="mm", everywhere=math.nan)
    with pytest.raises(Refusal, match="no angle for “left”"):
        WallLimits(unit="mm", stations=STATIONS, at={"left": 3.0})
