import numpy as np
import pytest

from workbench.castings.bores.family_shape import NO_SHAPE, family_shapes
from workbench.records.settings import Drawing, Settings

OVAL = {"front": 0.05, "rear": 0.05, "thrust": -0.05, "counter": -0.05}


def shaped(drawn, rng, depth_scale=None, **more):
    scale = depth_scale or {"top": 1.0, "middle": 1.0, "bottom": 1.0}
    rows = drawn(rng, place_sd=0.0, block_sd=0.1, bore_sd=0.1, **more)
    return [
        {**row, "mean": row["mean"] + scale[row["depth"]] * OVAL[row["station"]]} for row in rows
    ]


def test_an_oval_core_box_is_found_between_the_stations_and_the_depths(walls, drawn) -> None:
    """0.05 cos(2 angle), twice that at the bottom; the shifts differ from bore to bore."""
    rows = shaped(drawn, np.random.default_rng(1), {"top": 1.0, "middle": 1.0, "bottom": 2.0})
    shape = family_shapes(walls(rows))["works"]
    degrees = np.array([0.0, 30, 45, 90, 200])
    plain = 0.05 * np.cos(2 * np.radians(degrees))
    assert shape.at(degrees, np.full(5, 60.0), "middle") == pytest.approx(plain, abs=1e-9)
    assert shape.at(degrees, np.full(5, 85.0), "") == pytest.approx(1.5 * plain, abs=1e-9)
    assert shape.at(degrees, np.full(5, 200.0), "") == pytest.approx(2 * plain, abs=1e-9)


def test_without_positions_each_depth_has_its_own(walls, drawn) -> None:
    stations = {"front": 0.0, "thrust": 90.0, "rear": 180.0, "counter": 270.0}
    unplaced = Settings(title="Invented", drawing=Drawing(stations=stations))
    rows = shaped(drawn, np.random.default_rng(2), {"top": 1.0, "middle": 1.0, "bottom": 2.0})
    shape = family_shapes(walls(rows, unplaced))["works"]
    unknown = np.full(1, np.nan)
    assert shape.at(np.zeros(1), unknown, "bottom") == pytest.approx([0.1])
    assert shape.at(np.zeros(1), unknown, "nowhere") == [0.0]


def test_one_block_shares_no_shape(walls, drawn) -> None:
    rows = shaped(drawn, np.random.default_rng(3), blocks=1)
    assert family_shapes(walls(rows))["works"] is NO_SHAPE
    assert NO_SHAPE.at(np.zeros(2), np.zeros(2), "top").tolist() == [0.0, 0.0]


def test_families_have_their_own(walls, drawn) -> None:
    rng = np.random.default_rng(4)
    rows = [*shaped(drawn, rng), *drawn(rng, family="trophy", place_sd=0.0)]
    found = family_shapes(walls(rows))
    at = np.zeros(1), np.full(1, 60.0), "middle"
    assert found["works"].at(*at) == pytest.approx([0.05])
    assert found["trophy"].at(*at) == pytest.approx([0.0], abs=1e-12)
