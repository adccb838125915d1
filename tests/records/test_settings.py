from __future__ import annotations

from pathlib import Path

import pytest

from workbench.errors import StudyError
from workbench.records.faults import FaultsError
from workbench.records.money import Amount
from workbench.records.settings import Family, Settings, built_in_quantities, load_settings

FULL = """
title = "Marlowe Four"
confidence = 0.9
units = "in"

[families.trophy]
label = "Trophy"
price = 4200
foundry = "kept for later use"

[drawing]
unit = "mm"
bores = 4
bore_diameter = 86.0
[drawing.stations]
front = 0
thrust = 90.0
[drawing.depths]
top = 10
bottom = 95.5

[gauges.ug1]
kind = "ultrasonic"
resolution = 0.01
unit = "millimetres"
uncertainty = 0.05

[quantities.core_shift]
unit = "mm"
signed = true

[quantities.ring]
label = "ring of a tap"
unit = "Hz"

[[remembered]]
who = "an old hand"
quantity = "wall_thickness"
family = "trophy"
low = 11
high = 12
unit = "mm"

[readings]
file = "walls.csv"
decimal = ","

[boring]
oversizes = [0.5, 1]

[fitness.street]
anything = [1, 2]

[worth]
hours = 3
"""


def faults_of(folder: Path, text: str | bytes) -> list[tuple[str, str, str]]:
    """Give the (key, code, sentence) of every fault of a settings file."""
    (folder / "study.toml").write_bytes(text.encode() if isinstance(text, str) else text)
    with pytest.raises(FaultsError) as caught:
        load_settings(folder)
    assert all(fault.file == "study.toml" for fault in caught.value.faults)
    return [(fault.column, fault.code, fault.sentence) for fault in caught.value.faults]


def test_all_it_may_hold(folder: Path) -> None:
    (folder / "study.toml").write_text(FULL, encoding="utf-8")
    study = load_settings(folder)
    assert (study.title, study.confidence, study.units) == ("Marlowe Four", 0.9, "in")
    assert study.families["trophy"].price == Amount(likely=4200.0)
    assert study.families["trophy"].model_extra == {"foundry": "kept for later use"}
    assert study.family_label("trophy") == "Trophy"
    assert study.family_label("works") == "works"
    assert study.drawing is not None
    assert study.drawing.stations == {"front": 0, "thrust": 90}
    assert study.drawing.depths == {"top": 10, "bottom": 95.5}
    assert study.gauges["ug1"].unit == "mm"
    assert study.readings.file == "walls.csv"
    assert study.readings.decimal == ","
    assert study.remembered[0].low == 11
    assert study.fitness == {"street": {"anything": [1, 2]}}
    assert study.boring == {"oversizes": [0.5, 1]}
    assert study.worth == {"hours": 3}
    shift, ring = study.quantities["core_shift"], study.quantities["ring"]
    assert (shift.kind, shift.unit, shift.signed, shift.label) == (
        "length",
        "mm",
        True,
        "core shift",
    )
    assert (ring.kind, ring.unit, ring.signed) == ("other", "Hz", True)
    assert study.quantities["mass"].unit == "lb"


def test_only_the_title_is_required(folder: Path) -> None:
    (folder / "study.toml").write_text('title = "x"', encoding="utf-8-sig")
    study = load_settings(folder)
    assert study.confidence == 0.95
    assert study.units == "mm"
    assert study.drawing is None
    assert dict(study.quantities) == built_in_quantities()


def test_every_fault_at_once_with_its_key(folder: Path) -> None:
    found = faults_of(
        folder,
        """
titel = "x"
confidence = 95
[families.trophy]
price = "dear"
[drawing]
bore = 4
[drawing.stations]
front = 400
[gauges.ug1]
resolutoin = 0.01
[[remembered]]
who = "x"
""",
    )
    assert found[-1][:2] == ("titel", "unknown_key")
    assert found[-1][2] == "There is no key “titel” here (did you mean “title”?)."
    by_key = {key: (code, sentence) for key, code, sentence in found}
    assert by_key["title"] == ("missing_key", "“title” is required and not given.")
    assert by_key["confidence"] == ("bad_value", "“confidence” must be less than 1.")
    assert by_key["families.trophy.price"][1] == (
        "“price” must be a number, or a table of low, likely and high."
    )
    assert by_key["drawing.bore"][1].endswith("(did you mean “bores”?).")
    assert by_key["drawing.stations.front"][1] == "“front” must be less than 360."
    assert by_key["gauges.ug1.resolutoin"][1].endswith("(did you mean “resolution”?).")
    assert {"remembered[1].quantity", "remembered[1].low", "remembered[1].unit"} <= set(by_key)


@pytest.mark.parametrize(
    ("text", "key", "code", "sentence"),
    [
        ("confidence = nan", "confidence", "bad_value", "must be"),
        ('confidence = "0.9"', "confidence", "bad_value", "must be a number"),
        ("title = 3", "title", "bad_value", "must be text"),
        ('title = ""', "title", "bad_value", "at least 1 character"),
        ('title = "a\\nb"', "title", "bad_value", "one line"),
        ('units = "cm"', "units", "bad_value", "must be 'mm' or 'in'"),
        ("families = 3", "families", "bad_value", "must be a table"),
        ("families.a.price = -1", "families.a.price", "bad_value", "must be 0 or more"),
        ("families.a.price = inf", "families.a.price", "bad_value", "finite"),
        ("drawing.bore_diameter = 1e200", "drawing.bore_diameter", "bad_value", "no further from"),
        ("gauges.g.uncertainty = 1e16", "gauges.g.uncertainty", "bad_value", "0 than 1e+15"),
        ("families.a.labell = 'x'", "families.a.labell", "unknown_key", "did you mean “label”"),
        ("drawing.bores = 4.5", "drawing.bores", "bad_value", "must be"),
        ("drawing.bores = 0", "drawing.bores", "bad_value", "greater than or equal to 1"),
        ("drawing.unit = 'kg'", "drawing.unit", "bad_value", "must be a unit of length"),
        ("drawing.unit = 'mn'", "drawing.unit", "bad_value", "not a known unit"),
        ("drawing.bore_diameter = -86", "drawing.bore_diameter", "bad_value", "greater than 0"),
        ("gauges.g.resolution = 0.1", "gauges.g.unit", "missing_key", "needs the “unit”"),
        ("gauges.g.resolution = true", "gauges.g.resolution", "bad_value", "must be a number"),
        ("quantities.mass.unit = 'kg'", "quantities.mass", "bad_value", "built in"),
        (
            "quantities.x = {unit = 'kg', kind = 'length'}",
            "quantities.x.unit",
            "unit_mismatch",
            "not a unit of length",
        ),
        ("readings.decimal = ';'", "readings.decimal", "bad_value", "must be '.' or ','"),
        ("remembered = 'x'", "remembered", "bad_value", "must be a list of tables"),
        (
            "remembered = [{who='a', quantity='wall', family='f', low=2, high=1, unit='mm'}]",
            "remembered[1].low",
            "bad_value",
            "above “high”",
        ),
        (
            "remembered = [{who='a', quantity='wall', family='f', low=1, high=2, unit='mm'}]",
            "remembered[1].quantity",
            "unknown_quantity",
            "not known",
        ),
        (
            "remembered = [{who='a', quantity='mass', family='f', low=1, high=2, unit='mm'}]",
            "remembered[1].unit",
            "unit_mismatch",
            "does not fit",
        ),
    ],
)
def test_each_fault(folder: Path, text: str, key: str, code: str, sentence: str) -> None:
    title = "" if text.startswith("title") else 'title = "x"\n'
    found = faults_of(folder, title + text)
    assert [(at, why) for at, why, _ in found if at == key] == [(key, code)]
    assert sentence in next(said for at, _, said in found if at == key)


def test_text_that_is_no_toml_names_its_line(folder: Path) -> None:
    (folder / "study.toml").write_text('title = "x"\nconfidence = = 3\n', encoding="utf-8")
    with pytest.raises(FaultsError, match="not TOML as it stands") as caught:
        load_settings(folder)
    assert caught.value.faults[0].row == 2
    assert faults_of(folder, b'title = "\xff"')[0][1] == "not_text"
    assert faults_of(folder, "a = " + "[" * 5000)[0][1] == "not_toml"
    assert faults_of(folder, 'title = "x"\ntitle = "y"')[0][1] == "not_toml"


def test_what_is_no_study(tmp_path: Path) -> None:
    with pytest.raises(StudyError, match=r"holds no study\.toml"):
        load_settings(tmp_path)
    with pytest.raises(StudyError, match="is not a folder"):
        load_settings(tmp_path / "nowhere")
    (tmp_path / "study.toml").write_bytes(b"#" * 4_000_001)
    with pytest.raises(StudyError, match="larger than 4 MB"):
        load_settings(tmp_path)


def test_families_met_are_named_before_those_only_stated() -> None:
    settings = Settings(
        title="t", families={"b": Family(label="B"), "printed": Family(), "a": Family(label="A")}
    )
    named = settings.family_labels(["z", "a", "y", "b", "a"])
    assert list(named.items()) == [
        ("b", "B"), ("a", "A"), ("y", "y"), ("z", "z"), ("printed", "printed"),
    ]  # fmt: skip
    assert list(settings.family_labels([])) == ["b", "printed", "a"]
