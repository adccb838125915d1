"""Impressions, grades and limits: what a written value means."""

from __future__ import annotations

import pytest

from workbench.records.brinell import brinell
from workbench.records.gauge_table import Indenter
from workbench.records.meanings import pressed
from workbench.records.reduction import moments

BRINELL = """
[gauges.bt1]
kind = "brinell"
[gauges.bt1.impression]
load = 29420
ball = 10
[gauges.bt2]
[gauges.bt2.impression]
load = 3000
load_unit = "kgf"
ball = 0.393700787
ball_unit = "in"
"""
# ISO 6506-4, table for a 10 mm ball and 29.42 kN (from memory): diameter in mm, HBW.
TABLE = [(2.5, 602), (3.0, 415), (3.5, 302), (4.0, 229), (4.5, 179), (5.0, 143), (6.0, 95.5)]


def hardness(*rows: tuple[str, str, str]) -> str:
    lines = [f"B{at},works,hardness,{v},{u},{g}" for at, (v, u, g) in enumerate(rows)]
    return "\n".join(["block,family,quantity,value,unit,gauge", *lines]) + "\n"


@pytest.mark.parametrize(("diameter", "printed"), TABLE)
def test_against_iso_6506_4(read, diameter: float, printed: float) -> None:  # type: ignore[no-untyped-def]
    records = read(hardness((f"{diameter:.2f}", "mm", "bt1")), settings=BRINELL)
    assert records.faults == ()
    (row,) = moments(records.cells, "HB").to_dict("records")
    assert row["mean"] == pytest.approx(printed, abs=0.6)
    assert row["unit"] == "HB"


def test_inches_and_kilograms_of_force_give_the_same_hardness(read) -> None:  # type: ignore[no-untyped-def]
    rows = [("4.0000", "mm", "bt1"), ("0.157480", "in", "bt1"), ("4.0000", "mm", "bt2")]
    records = read(hardness(*rows), settings=BRINELL)
    found = moments(records.cells, "HB").sort_values("block")["mean"].tolist()
    assert found[1] == pytest.approx(found[0], abs=0.01)
    assert found[2] == pytest.approx(found[0] / (0.102 * 9.80665), rel=1e-4)  # 0.102 is rounded


@pytest.mark.parametrize(("written", "decimals"), [(1, 0), (2, 0), (3, 1), (4, 2)])
def test_a_hardness_is_no_finer_than_its_diameter(written: int, decimals: int) -> None:
    """At 4 mm one step of 0.01 mm is 1.2 HBW, one of 0.001 mm is 0.12."""
    micro, found = pressed(Indenter(load=29420.0, ball=10.0), "mm", 4_000_000, written)
    assert found == decimals
    exact = brinell(29420, 10, 4.0).hardness
    assert micro == round(exact * 10**decimals) * 10 ** (6 - decimals)
    step = abs(brinell(29420, 10, 4.0).per_diameter) * 10.0**-written
    assert 10.0**-decimals <= step


def test_readings_on_a_scale_stay_beside_impressions(read) -> None:  # type: ignore[no-untyped-def]
    records = read(hardness(("4.00", "mm", "bt1"), ("231", "HB", "bt1")), settings=BRINELL)
    assert moments(records.cells, "HB")["mean"].tolist() == [229.0, 231.0]


def test_rebound_readings_keep_their_scale(read) -> None:  # type: ignore[no-untyped-def]
    settings = '[gauges.lt1]\nkind = "rebound"\n[gauges.lt2]\nkind = "Leeb"\nunit = "HLD"\n'
    rows = [("512", "HLD", "lt1"), ("498", "HLE", "lt1"), ("505", "HL", "lt2")]
    records = read(hardness(*rows), settings=settings)
    assert records.faults == ()
    assert sorted(records.cells["unit"]) == ["HLD", "HLD", "HLE"]


def walls(*values: str, gauge: str = "ug1", unit: str = "mm", contact: str = "") -> str:
    lines = [
        f"B{n},works,wall_thickness,{v},{unit},{gauge},{contact}" for n, v in enumerate(values)
    ]
    return "\n".join(["block,family,quantity,value,unit,gauge,contact", *lines]) + "\n"


def test_a_value_written_as_below_is_kept_as_such(read) -> None:  # type: ignore[no-untyped-def]
    records = read(walls("<2.00", "2.00", "3.10"))
    assert (records.accepted, records.faults) == (3, ())
    found = records.cells.set_index("block")["contact"].to_dict()
    assert found == {"B0": "below", "B1": "good", "B2": "good"}
    (notice,) = [n for n in records.notices if n.code == "censored_readings"]
    assert notice.sentence.startswith("1 reading by “ug1” says only")


def test_doubtful_contact_stays_doubtful(read) -> None:  # type: ignore[no-untyped-def]
    records = read(walls("<2.00", contact="doubtful"))
    assert records.cells["contact"].tolist() == ["doubtful"]


@pytest.mark.parametrize(
    ("unit", "shown", "mean", "contact"),
    [
        ("mm", "1.50", 1.5, "below"),
        ("mm", "0.80", 1.5, "below"),  # beyond what the gauge can read: not above its limit
        ("mm", "1.51", 1.51, "good"),
        ("in", "0.059", 1.4986, "below"),  # the limit, 0.0591 in, to the decimals written
        ("in", "0.060", 1.524, "good"),
    ],
)
def test_the_lower_limit_of_a_gauge(  # type: ignore[no-untyped-def]
    read, unit: str, shown: str, mean: float, contact: str
) -> None:
    settings = '[gauges.ug1]\nunit = "mm"\nlower_limit = 1.5\n'
    records = read(walls(shown, unit=unit), settings=settings)
    assert records.cells["contact"].tolist() == [contact]
    assert moments(records.cells, "mm")["mean"].tolist() == pytest.approx([mean])


def test_another_gauge_has_no_such_limit(read) -> None:  # type: ignore[no-untyped-def]
    settings = '[gauges.ug1]\nunit = "mm"\nlower_limit = 1.5\n[gauges.ug2]\nkind = "x"\n'
    records = read(walls("0.80", gauge="ug2"), settings=settings)
    assert records.cells["contact"].tolist() == ["good"]


FEATURES = """
[quantities.web_there]
kind = "feature"
[quantities.gallery]
kind = "feature"
label = "oil gallery"
levels = ["rough", "fair", "smooth"]
"""


def features(quantity: str, *values: str) -> str:
    lines = [f"B{n},works,{quantity},{v}," for n, v in enumerate(values)]
    return "\n".join(["block,family,quantity,value,unit", *lines]) + "\n"


def test_yes_and_no_are_one_and_nought(read) -> None:  # type: ignore[no-untyped-def]
    words = ("yes", "No", "y", "N", "TRUE", "false", "1", "0", "1.0", "present", "absent")
    records = read(features("web_there", *words), settings=FEATURES)
    assert records.faults == ()
    assert set(records.cells["unit"]) == {"share"}
    found = dict(records.cells[["block", "s1"]].itertuples(index=False))
    assert [found[f"B{n}"] for n in range(len(words))] == [1, 0, 1, 0, 1, 0, 1, 0, 1, 1, 0]


def test_grades_count_from_nought(read) -> None:  # type: ignore[no-untyped-def]
    records = read(features("gallery", "Rough", "smooth", "1"), settings=FEATURES)
    assert records.faults == ()
    assert set(records.cells["unit"]) == {"grade"}
    assert records.cells.sort_values("block")["s1"].tolist() == [0, 2, 1]


def test_a_slip_of_the_pen_is_hinted_at(read) -> None:  # type: ignore[no-untyped-def]
    records = read(features("gallery", "smoth"), settings=FEATURES)
    assert "did you mean “smooth”?" in records.faults[0].sentence
