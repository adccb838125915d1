"""What makes hardness readings void, seen in the records."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from workbench.castings.calibration import Calibrations
from workbench.castings.void_hardness import void_findings
from workbench.records.gauge_table import Gauge, Indenter, Needs
from workbench.records.settings import Drawing, Settings, built_in_quantities

NEEDS = Needs(
    note="common practice, no source",
    section="deck_thickness",
    least_section=25.0,
    spacing=4.0,
    least_spacing=5.0,
    least_mass=20.0,
    least_readings=5,
)


def cell(quantity: str, value: float, unit: str, **given: Any) -> dict[str, Any]:
    k = round(value * 10)
    text = {"family": "works", "block": "B1", "bore": "", "station": "front", "depth": ""}
    text |= {"gauge": "lt1", "calibration": "", "operator": "", "sampling": "grid"}
    row = {"quantity": quantity, "unit": unit, "contact": "good", "step": 0.1, "n": 1}
    row |= {"s1": k, "s2": k * k, "kmin": k, "kmax": k}
    return {**text, **row, **given}


def found(*rows: dict[str, Any], needs: Needs | None = NEEDS, **given: Any) -> dict[str, str]:
    gauge = {"kind": "rebound", "needs": needs, **given.pop("gauge", {})}
    settings = Settings(
        title="x", quantities=built_in_quantities(), gauges={"lt1": Gauge(**gauge)}, **given
    )
    answer = void_findings(pd.DataFrame(rows), settings, Calibrations())
    return {finding.code: finding.sentence for finding in answer}


HARD = [cell("hardness", 500.0, "HLD", n=5), cell("hardness", 500.0, "HLD", n=4, station="rear")]
DECK = cell("deck_thickness", 11.0, "mm", gauge="ug1")
MASS = cell("mass", 18.0, "kg", gauge="sc1")


def test_each_thing_that_makes_readings_void_is_said_with_its_source() -> None:
    said = found(*HARD, DECK, MASS)
    assert "1 of 2 places have fewer than 5 readings" in said["few_impressions"]
    assert "11.00 mm" in said["thin_section"]
    assert "25 mm needed under a reading" in said["thin_section"]
    assert "4 mm apart; 5 mm are needed" in said["close_impressions"]
    assert "“B1” weigh less than the 20 kg" in said["light_block"]
    assert all("common practice, no source" in sentence for sentence in said.values())


def test_sound_places_say_nothing() -> None:
    deck, mass = cell("deck_thickness", 26.0, "mm"), cell("mass", 41.0, "kg")
    sound = NEEDS.model_copy(update={"spacing": 6.0})
    assert found(HARD[0], deck, mass, needs=sound) == {}
    assert found(*HARD, DECK, MASS, needs=None) == {}


def test_the_drawing_stands_in_for_a_section_nobody_read() -> None:
    drawing = Drawing(unit="in", deck_thickness=0.5)
    assert "12.70 mm" in found(*HARD, drawing=drawing)["thin_section"]
    assert "thin_section" not in found(*HARD, DECK | {"block": "B2"})


@pytest.mark.parametrize(("thickness", "thin"), [(3.4, False), (3.3, True)])
def test_an_impression_asks_for_eight_depths(thickness: float, thin: bool) -> None:
    """At 229 HBW, 29.42 kN and a 10 mm ball, the depth is 0.417 mm: 3.34 mm are needed."""
    needs = Needs(note="none needed", section="deck_thickness")
    row = cell("hardness", 229.0, "HB")
    pressing = {"kind": "brinell", "impression": Indenter(load=29420.0, ball=10.0)}
    said = found(row, cell("deck_thickness", thickness, "mm"), needs=needs, gauge=pressing)
    assert ("thin_section" in said) == thin
    assert all("ISO 6506-1" in sentence for sentence in said.values())


@pytest.mark.parametrize(("spacing", "near"), [(12.1, False), (11.9, True)])
def test_an_impression_asks_for_three_diameters(spacing: float, near: bool) -> None:
    needs = Needs(note="none needed", spacing=spacing)
    pressing = {"kind": "brinell", "impression": Indenter(load=29420.0, ball=10.0)}
    said = found(cell("hardness", 229.0, "HB"), needs=needs, gauge=pressing)
    assert ("close_impressions" in said) == near


def test_indices_that_do_not_compare() -> None:
    gauges = {
        "a": Gauge(impression=Indenter(load=3000.0, load_unit="kgf", ball=10.0)),  # 30
        "b": Gauge(impression=Indenter(load=1000.0, load_unit="kgf", ball=10.0)),  # 10
        "c": Gauge(impression=Indenter(load=700.0, load_unit="kgf", ball=5.0)),  # 28
    }
    settings = Settings(title="x", quantities=built_in_quantities(), gauges=gauges)

    def codes(*names: str) -> list[str]:
        cells = pd.DataFrame([cell("hardness", 200.0, "HB", gauge=name) for name in names])
        return [found.code for found in void_findings(cells, settings, Calibrations())]

    assert codes("a") == []
    assert codes("a", "b") == ["unlike_indices"]
    assert codes("c") == ["unusual_index"]
