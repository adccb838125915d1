from __future__ import annotations

from pathlib import Path

import pytest

from workbench.records.faults import FaultsError
from workbench.records.settings import load_settings

TITLE = 'title = "x"\n'


def loaded(folder: Path, text: str):  # type: ignore[no-untyped-def]
    (folder / "study.toml").write_text(TITLE + text, encoding="utf-8")
    return load_settings(folder)


def test_all_a_gauge_can_say(folder: Path) -> None:
    gauge = loaded(
        folder,
        """
[gauges.lt1]
kind = "rebound"
unit = "HLD"
resolution = 1
uncertainty = 6
[gauges.lt1.needs]
note = "common practice, no source"
section = "deck_thickness"
least_section = 25
spacing = 6
least_spacing = 5
least_mass = 11
mass_unit = "lb"
least_readings = 5
[gauges.bt1.impression]
load = 3000
load_unit = "kgf"
ball = 10
""",
    ).gauges
    assert gauge["lt1"].rebound
    assert gauge["lt1"].scale == "HLD"
    assert gauge["lt1"].needs.least_mass == 11
    assert gauge["bt1"].scale is None
    assert gauge["bt1"].impression.ball_unit == "mm"


@pytest.mark.parametrize(
    ("text", "key", "code"),
    [
        ("[gauges.a]\nlower_limit = 1.0\n", "gauges.a.unit", "missing_key"),
        ('[gauges.a]\nkind = "rebound"\nunit = "HB"\n', "gauges.a.unit", "bad_value"),
        (
            '[gauges.a]\nunit = "mm"\n[gauges.a.impression]\nload = 29420\nball = 10\n',
            "gauges.a.unit",
            "bad_value",
        ),
        ("[gauges.a.impression]\nload = 29420\n", "gauges.a.impression.ball", "missing_key"),
        (
            "[gauges.a.impression]\nload = 1.0\nball = 1.0\nbal = 2\n",
            "gauges.a.impression.bal",
            "unknown_key",
        ),
        ("[gauges.a.needs]\nleast_mass = 5\n", "gauges.a.needs.note", "missing_key"),
        (
            '[gauges.a.needs]\nnote = "n"\nleast_section = 5\n',
            "gauges.a.needs.section",
            "missing_key",
        ),
        (
            '[gauges.a.needs]\nnote = "n"\nsection = "mass"\n',
            "gauges.a.needs.section",
            "bad_value",
        ),
        (
            '[gauges.a.needs]\nnote = "n"\nspacing = 3\n',
            "gauges.a.needs.least_spacing",
            "missing_key",
        ),
        (
            '[gauges.a.needs]\nnote = "n"\nmass_unit = "mm"\n',
            "gauges.a.needs.mass_unit",
            "bad_value",
        ),
    ],
)
def test_slips_are_named_by_their_key(folder: Path, text: str, key: str, code: str) -> None:
    with pytest.raises(FaultsError) as raised:
        loaded(folder, text)
    assert [(fault.column, fault.code) for fault in raised.value.faults] == [(key, code)]
