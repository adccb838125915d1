from __future__ import annotations

from pathlib import Path

import pytest

from workbench.records.allowance_table import Part, missing_parts
from workbench.records.faults import FaultsError
from workbench.records.settings import load_settings

PARTS = {
    "main_cap": Part(mass=0.55, uncertainty=0.01, unit="kg"),
    "plugs": Part(mass=0.12, uncertainty=0.01, unit="kg", label="core plugs"),
}


@pytest.mark.parametrize(
    ("text", "found", "unknown"),
    [
        ("", {}, ()),
        ("main cap", {"main_cap": 1}, ()),
        ("Main-Cap; core plugs", {"main_cap": 1, "plugs": 1}, ()),
        ("2 x main cap", {"main_cap": 2}, ()),
        ("2 main cap", {"main_cap": 2}, ()),
        ("main cap x3", {"main_cap": 3}, ()),
        ("main cap × 3 + plugs", {"main_cap": 3, "plugs": 1}, ()),
        ("main cap, main cap", {"main_cap": 2}, ()),
        ("main caps", {}, ("main caps",)),
        ("0 x main cap", {}, ("0 x main cap",)),
        ("oil pump; plugs", {"plugs": 1}, ("oil pump",)),
    ],
)
def test_a_list_of_missing_parts(text: str, found: dict[str, int], unknown: tuple[str]) -> None:
    answer = missing_parts(text, PARTS)
    assert (answer.parts, answer.unknown) == (found, unknown)


def test_parts_without_a_mass_are_told_of(read, folder: Path) -> None:  # type: ignore[no-untyped-def]
    (folder / "blocks.csv").write_text(
        "block,family,missing_parts\nB1,works,oil pump; cap\nB2,works,oil pump\nB3,works,sump\n"
    )
    text = "block,family,quantity,value,unit\n" + "B1,works,mass,41,kg\nB2,works,mass,41,kg\n"
    text += "B3,works,deck_thickness,11,mm\n"
    records = read(text, settings='[parts.cap]\nmass = 1\nuncertainty = 0.1\nunit = "kg"\n')
    said = [notice.sentence for notice in records.notices if notice.code == "part_not_stated"]
    assert len(said) == 1
    assert "“oil pump”" in said[0]
    assert "“B1”, “B2”" in said[0]


CORRELATION = '[correlations.iron]\ngauge = "lt1"\nshown = "HLD"\nto = "HB"\nnote = "own"\n'


@pytest.mark.parametrize(
    ("text", "key", "code"),
    [
        ('[parts.a]\nmass = 1\nunit = "kg"\n', "parts.a.uncertainty", "missing_key"),
        ('[parts.a]\nmass = 1\nuncertainty = 0\nunit = "mm"\n', "parts.a.unit", "bad_value"),
        (
            '[parts.a]\nmass = 1\nuncertainty = 0\nunit = "kg"\n'
            '[parts.b]\nmass = 1\nuncertainty = 0\nunit = "kg"\nlabel = "A"\n',
            "parts.b",
            "bad_value",
        ),
        (CORRELATION.replace('"HB"', '"HLD"'), "correlations.iron.to", "bad_value"),
        (CORRELATION.replace('"HB"', '"mm"'), "correlations.iron.to", "bad_value"),
        (CORRELATION + '[gauges.ug1]\nkind = "u"\n', "correlations.iron.gauge", "unknown_gauge"),
        (CORRELATION + "[calibrations.iron]\n", "correlations.iron", "bad_value"),
        (CORRELATION + CORRELATION.replace("iron", "again"), "correlations.again", "bad_value"),
        (CORRELATION.replace('note = "own"\n', ""), "correlations.iron.note", "missing_key"),
    ],
)
def test_slips_are_named_by_their_key(folder: Path, text: str, key: str, code: str) -> None:
    (folder / "study.toml").write_text('title = "x"\n' + text, encoding="utf-8")
    with pytest.raises(FaultsError) as raised:
        load_settings(folder)
    assert [(fault.column, fault.code) for fault in raised.value.faults] == [(key, code)]
