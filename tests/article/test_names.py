"""What things are called, and in which order."""

from __future__ import annotations

import pytest

from workbench.article.names import depth_order, family_order, quantity_label, station_order
from workbench.records.settings import Drawing, Settings


def test_labels(settings: Settings) -> None:
    assert quantity_label(settings, "deck_thickness") == "Deck thickness"
    assert quantity_label(settings, "skirt_length") == "Skirt length"


def test_families_of_the_settings_come_first(settings: Settings) -> None:
    assert family_order(settings, ["zeta", "trophy", "alpha", "works"]) == (
        "works",
        "trophy",
        "alpha",
        "zeta",
    )


def test_stations_of_the_drawing_come_first(settings: Settings) -> None:
    drawing = Drawing(unit="mm", stations={"front": 0.0, "thrust": 90.0, "rear": 180.0})
    drawn = Settings(title="t", drawing=drawing)
    assert station_order(drawn, ["45", "rear", "front", "5"]) == ("front", "rear", "5", "45")
    assert station_order(settings, ["b", "a"]) == ("a", "b")


@pytest.mark.parametrize(
    ("met", "ordered"),
    [
        (["bottom", "top", "middle"], ("top", "middle", "bottom")),
        (["100", "20", "5.5"], ("5.5", "20", "100")),
        (["deep", "shallow"], ("deep", "shallow")),
        (["Lower", "Upper"], ("Upper", "Lower")),
    ],
)
def test_depths_run_from_the_deck_down(met: list[str], ordered: tuple[str, ...]) -> None:
    assert depth_order(met) == ordered
