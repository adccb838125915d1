import numpy as np
import pytest

from workbench.castings.places import places_of
from workbench.errors import Refusal
from workbench.records.settings import Drawing, Settings


def test_cells_of_one_place_come_together_as_their_readings_would(walls) -> None:
    """Three readings 4.0, 4.2, 4.4 by one gauge and one of 5.0 by another: mean 4.4, ss 0.56."""
    found = walls(
        [
            {"station": "thrust", "gauge": "ug1", "n": 3, "mean": 4.2, "ss": 0.08},
            {"station": "thrust", "gauge": "ug2", "n": 1, "mean": 5.0},
            {"station": "rear", "mean": 4.1},
        ]
    )
    place = found.places.set_index("station").loc["thrust"]
    readings = np.array([4.0, 4.2, 4.4, 5.0])
    assert (place["n"], place["mean"]) == (4, pytest.approx(4.4))
    assert place["ss"] == pytest.approx(readings.var() * 4)
    assert found.repeats == 3
    assert found.reading_variance == pytest.approx(readings.var() * 4 / 3)


def test_angles_and_depths_come_from_the_drawing_or_are_numbers(walls) -> None:
    found = walls(
        [
            {"station": "thrust", "depth": "bottom"},
            {"station": "45", "depth": "2.5"},
            {"station": "360", "depth": "below"},
            {"station": "left", "depth": ""},
        ]
    ).places.set_index("station")
    assert found["angle"].to_dict() == pytest.approx(
        {"thrust": 90, "45": 45, "360": 0, "left": np.nan}, nan_ok=True
    )
    assert found["down"].to_dict() == pytest.approx(
        {"thrust": 110, "45": 2.5, "360": np.nan, "left": np.nan}, nan_ok=True
    )


def test_depths_come_in_the_unit_of_the_readings(walls) -> None:
    drawing = Drawing(unit="in", stations={"front": 0}, depths={"top": 2.0})
    found = walls(
        [{"station": "front", "depth": "top"}, {"station": "front", "depth": "3"}],
        Settings(title="Invented", drawing=drawing),
    )
    assert sorted(found.places["down"]) == pytest.approx([50.8, 76.2])
    assert found.unstated == ("ug1",)


def test_searched_and_doubtful_readings_stand_apart(walls) -> None:
    found = walls(
        [
            {"station": "front"},
            {"station": "", "sampling": "search", "mean": 3.1},
            {"station": "front", "contact": "doubtful", "n": 2},
        ]
    )
    assert len(found.places) == 1
    assert found.searched["mean"].tolist() == [3.1]
    assert found.doubtful == 2
    assert found.gauge_uncertainty == 0.03


def test_places_without_bore_or_angle_are_places_but_make_no_circle(walls) -> None:
    found = walls([{"station": "front"}, {"station": "front", "bore": ""}, {"station": ""}])
    assert len(found.places) == 3
    assert len(found.round_bores) == 1


def test_without_repeats_a_reading_is_as_good_as_its_step(walls) -> None:
    found = walls([{"station": "front", "step": 0.02}, {"station": "rear", "step": 0.02}])
    assert found.reading_variance == pytest.approx(0.02**2 / 12)


def test_blocks_and_families_are_taken_out(walls) -> None:
    rows = [{"station": "front"}, {"station": "front", "block": "T01", "family": "trophy"}]
    assert walls(rows).of_block("T01").places["family"].tolist() == ["trophy"]
    assert walls(rows).of_family("works").places["block"].tolist() == ["W01"]
    with pytest.raises(Refusal, match="no wall thickness of a block “X”"):
        walls(rows).of_block("X")


def test_refusals(walls) -> None:
    with pytest.raises(Refusal, match="no reading of wall thickness"):
        walls([{"quantity": "deck_thickness"}])
    with pytest.raises(Refusal, match="0 or more"):
        walls([{"station": "front"}], gauge_uncertainty=-1.0)


def test_a_gauge_stated_in_a_unit_that_does_not_fit_counts_as_unstated(frame, settings) -> None:
    weighed = frame([{"quantity": "mass", "unit": "kg", "station": "", "gauge": "ug1"}])
    found = places_of(weighed, settings, "mass")
    assert (found.gauge_uncertainty, found.unstated) == (0.0, ("ug1",))


def test_a_place_read_only_as_not_above_a_value_can_only_lower_the_thinnest(walls) -> None:
    found = walls(
        [
            {"station": "front"},
            {"station": "rear", "contact": "below", "mean": 2.5},
            {"station": "", "sampling": "search", "mean": 3.1},
            {"station": "front", "block": "W02"},
        ]
    )
    assert found.places["station"].tolist() == ["front", "front"]
    assert found.searched[["mean", "below"]].to_numpy().tolist() == [[3.1, False], [2.5, True]]
    assert found.doubtful == 0
    assert "1 place was read only as not above a value (bore 1, rear, middle: 2.500 mm)" in (
        found.of_block("W01").only_below
    )
    assert found.of_block("W02").only_below == ""
