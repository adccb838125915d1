"""`[[summaries]]`: read as written, every slip of the pen a fault at its key."""

from __future__ import annotations

import pytest

from workbench.errors import Refusal
from workbench.records.faults import FaultsError
from workbench.records.settings import load_settings
from workbench.records.summary_table import PrintedSummary

ENTRY = {
    "family": '"export"',
    "quantity": '"deck_thickness"',
    "unit": '"mm"',
    "n": "20",
    "mean": "11.4",
    "sd": "0.3",
    "source": '"a leaflet"',
    "of": '"blocks"',
}


def stated(tmp_path, *entries):
    text = 'title = "A study"\n'
    for entry in entries:
        text += "\n[[summaries]]\n" + "".join(f"{k} = {v}\n" for k, v in entry.items() if v)
    (tmp_path / "study.toml").write_text(text)
    return load_settings(tmp_path)


def test_an_entry_is_read_as_written(tmp_path):
    (found,) = stated(tmp_path, ENTRY).summaries
    assert (found.family, found.n, found.mean, found.sd) == ("export", 20, 11.4, 0.3)
    assert (found.source, found.of, found.uncertainty) == ("a leaflet", "blocks", None)
    assert found.scale("in") == pytest.approx(1 / 25.4)


@pytest.mark.parametrize(
    ("key", "value", "code"),
    [
        ("n", "1", "bad_value"),
        ("n", "20.5", "bad_value"),
        ("n", "-3", "bad_value"),
        ("sd", "0", "bad_value"),
        ("sd", "-0.3", "bad_value"),
        ("sd", "nan", "bad_value"),
        ("mean", "inf", "bad_value"),
        ("mean", '"11.4"', "bad_value"),
        ("source", "", "missing_key"),
        ("source", '""', "bad_value"),
        ("of", '"readings"', "bad_value"),
        ("quantity", '"deck_thicknes"', "unknown_quantity"),
        ("unit", '"kg"', "unit_mismatch"),
        ("uncertainty", "-1", "bad_value"),
        ("sdd", "0.2", "unknown_key"),
    ],
)
def test_a_slip_of_the_pen_is_a_fault_at_its_key(tmp_path, key, value, code):
    with pytest.raises(FaultsError) as caught:
        stated(tmp_path, ENTRY | {key: value})
    (fault,) = caught.value.faults
    assert fault.column == f"summaries[1].{key}"
    assert fault.code == code
    assert fault.sentence


def test_one_source_twice_is_a_fault(tmp_path):
    with pytest.raises(FaultsError) as caught:
        stated(tmp_path, ENTRY, ENTRY | {"n": "30"})
    assert [(f.column, f.code) for f in caught.value.faults] == [
        ("summaries[2].source", "second_row")
    ]


def test_hardness_on_another_scale_is_not_converted():
    found = PrintedSummary(family="a", quantity="hardness", unit="HB", n=5, mean=200.0, sd=4.0,
                           source="x")  # fmt: skip
    with pytest.raises(Refusal, match="What x prints in HB cannot be given in HRC"):
        found.scale("HRC")
    assert found.scale("HB") == 1.0
