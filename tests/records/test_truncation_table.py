"""`[[truncation]]`: read as written, every slip of the pen a fault at its key."""

from __future__ import annotations

from fractions import Fraction

import pytest

from workbench.errors import Refusal
from workbench.records.faults import FaultsError
from workbench.records.settings import load_settings
from workbench.records.truncation_table import Truncation, kept_ranges, truncations_of

ENTRY = {
    "quantity": '"wall_thickness"',
    "unit": '"mm"',
    "note": '"the display stays blank"',
    "kept_from": "1.5",
    "kept_to": "20",
    "gauge": '"ug1"',
}


def stated(tmp_path, *entries, more=""):
    text = f'title = "A study"\n{more}'
    for entry in entries:
        text += "\n[[truncation]]\n" + "".join(f"{k} = {v}\n" for k, v in entry.items() if v)
    (tmp_path / "study.toml").write_text(text)
    return load_settings(tmp_path)


def slips(tmp_path, entry, more=""):
    with pytest.raises(FaultsError) as caught:
        stated(tmp_path, entry, more=more)
    return caught.value.faults


def test_an_entry_is_read_as_written(tmp_path):
    (found,) = stated(tmp_path, ENTRY).truncations
    assert (found.kept_from, found.kept_to, found.of) == (1.5, 20, "readings")
    assert found.words == (
        "no reading below 1.5 mm or above 20 mm by “ug1” was kept (the display stays blank)"
    )
    sorted_out = found.model_copy(update={"of": "blocks", "gauge": None, "kept_to": None})
    assert sorted_out.words.startswith("blocks with a reading below 1.5 mm were sorted out before")


@pytest.mark.parametrize(
    ("key", "value", "code", "said"),
    [
        ("quantity", '"wall_thicknes"', "unknown_quantity", "did you mean “wall_thickness”"),
        ("unit", '"kg"', "unit_mismatch", "does not fit wall thickness"),
        ("unit", "", "missing_key", "required"),
        ("note", "", "missing_key", "required"),
        ("note", '""', "bad_value", "at least 1 character"),
        ("kept_from", "20", "bad_value", "not below “kept_to”"),
        ("kept_from", "30", "bad_value", "not below “kept_to”"),
        ("kept_from", "nan", "bad_value", "finite"),
        ("kept_from", '"1.5"', "bad_value", "must be a number"),
        ("of", '"bores"', "bad_value", "“of” must be"),
        ("kept_frm", "1.5", "unknown_key", "did you mean “kept_from”"),
    ],
)
def test_a_slip_of_the_pen_is_a_fault_at_its_key(tmp_path, key, value, code, said):
    (fault,) = slips(tmp_path, ENTRY | {key: value})
    assert (fault.column, fault.code) == (f"truncation[1].{key}", code)
    assert said in fault.sentence


def test_one_end_is_needed(tmp_path):
    (fault,) = slips(tmp_path, ENTRY | {"kept_from": "", "kept_to": ""})
    assert (fault.column, fault.code) == ("truncation[1].kept_from", "missing_key")


def test_blocks_are_not_sorted_by_the_gauge_they_are_read_with(tmp_path):
    (fault,) = slips(tmp_path, ENTRY | {"of": '"blocks"'})
    assert fault.column == "truncation[1].gauge"
    assert "sorted whatever gauge" in fault.sentence


def test_a_feature_has_no_range(tmp_path):
    feature = '[quantities.web]\nlabel = "a web"\nkind = "feature"\n'
    (fault,) = slips(tmp_path, ENTRY | {"quantity": '"web"', "unit": '"share"'}, feature)
    assert "seen by eye" in fault.sentence


@pytest.mark.parametrize(("kept_from", "unit"), [("2.0", "mm"), ("0.09", "in")])
def test_readings_are_not_kept_as_not_above_and_not_kept_at_all(tmp_path, kept_from, unit):
    gauge = '[gauges.ug1]\nunit = "mm"\nlower_limit = 2.0\n'
    entry = ENTRY | {"kept_from": kept_from, "unit": f'"{unit}"'}
    (fault,) = slips(tmp_path, entry, gauge)
    assert "lower limit 2 mm" in fault.sentence
    (fault,) = slips(tmp_path, entry | {"gauge": ""}, gauge)  # of every gauge, ug1 too
    assert "“ug1”" in fault.sentence
    assert stated(tmp_path, ENTRY, more=gauge).truncations  # from 1.5 mm on: no contradiction
    assert stated(tmp_path, entry | {"gauge": '"ug2"'}, more=gauge).truncations


def test_ends_are_exact_in_any_unit_of_the_kind():
    inches = Truncation(quantity="wall_thickness", unit="in", note="x", kept_from=0.1)
    assert inches.ends_in("mm") == (Fraction(254, 100), None)
    assert inches.ends_in("in") == (Fraction(1, 10), None)
    with pytest.raises(Refusal, match="cannot be turned into"):
        inches.ends_in("kg")


def test_entries_by_family_and_units_of_their_readings(tmp_path):
    settings = stated(
        tmp_path, ENTRY | {"family": '"works"'}, ENTRY | {"of": '"blocks"', "gauge": ""}
    )
    both = settings.truncations
    assert truncations_of(both, "wall_thickness", "works") == both
    assert truncations_of(both, "wall_thickness", "trophy") == both[1:]
    assert truncations_of(both, "deck_thickness", "works") == ()
    ranges = [one for one in kept_ranges(both, settings.quantities) if one.entry == 0]
    assert {one.of for one in ranges} == {"readings"}
    assert {one.unit for one in ranges} == {"mm", "cm", "m", "um", "in", "mil"}
    by_unit = {one.unit: (one.low, one.high) for one in ranges}
    assert by_unit["um"] == (1500, 20_000)
    assert by_unit["in"] == (Fraction(15, 254), Fraction(200, 254))


def test_a_hardness_scale_is_held_to_itself():
    entry = Truncation(quantity="hardness", unit="HLD", note="x", kept_from=300)
    from workbench.records.settings import built_in_quantities

    assert [one.unit for one in kept_ranges([entry], built_in_quantities())] == ["HLD"]
