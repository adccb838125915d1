import tomllib
from pathlib import Path

import pytest

import workbench
from workbench.castings.stated_rules import COMMON_PRACTICE, stated_boring, stated_duties
from workbench.records.faults import FaultsError
from workbench.records.settings import Drawing, Settings

TEMPLATE = Path(workbench.__file__).parent / "runs/templates/new_study/study.toml"
DRAWING = Drawing(stations={"front": 0, "thrust": 90, "rear": 180, "counter": 270})


def study(text: str, drawing: Drawing | None = DRAWING) -> Settings:
    data = tomllib.loads(text)
    return Settings(
        title="Invented",
        drawing=drawing,
        fitness=data.get("fitness", {}),
        boring=data.get("boring", {}),
    )


FULL = """
[fitness.race]
label = "Race"
note = "the engine's own handbook"
unit = "in"
least_wall = 0.14
least_deck = 0.4
largest_shift = 0.02
hardness_low = 180
hardness_high = 240
[fitness.race.station_classes.thrust_sides]
stations = ["thrust", "counter"]
least_wall = 0.16

[boring]
unit = "mm"
oversizes = [0.5, 1]
largest_offset = 0.2
clean_up = 0.05
"""


def faults(text: str, drawing: Drawing | None = DRAWING) -> dict[str, str]:
    with pytest.raises(FaultsError) as caught:
        stated_duties(study(text, drawing))
    return {fault.column: fault.sentence for fault in caught.value.faults}


def test_all_keys_are_read() -> None:
    duty = stated_duties(study(FULL))["race"]
    assert (duty.least_wall, duty.hardness_unit, duty.unit) == (0.14, "HB", "in")
    assert duty.station_classes["thrust_sides"].stations == ["thrust", "counter"]
    boring = stated_boring(study(FULL))
    assert (boring.oversizes, boring.largest_offset, boring.density) == ([0.5, 1.0], 0.2, 7.2)


def test_common_practice_is_marked_as_such_and_given_to_new_studies() -> None:
    duties = stated_duties(study(COMMON_PRACTICE, None))
    assert {name: duty.least_wall for name, duty in duties.items()} == {
        "usable": 3.0,
        "high_power": 3.5,
        "comfortable": 4.0,
    }
    assert {duty.note for duty in duties.values()} == {"common practice, no source"}
    assert COMMON_PRACTICE in TEMPLATE.read_text(encoding="utf-8")


def test_nothing_stated_is_no_fault() -> None:
    assert stated_duties(study("")) == {}
    boring = stated_boring(study(""))
    assert (boring.oversizes, boring.largest_offset, boring.clean_up) == ([], None, 0.0)


def test_every_fault_is_named_with_its_key() -> None:
    found = faults(
        """
        [fitness.a]
        least_wal = 3.0
        unit = "kg"
        [fitness.b]
        note = "x"
        [fitness.c]
        note = "x"
        least_wall = 3.0
        hardness_low = 240
        hardness_high = 180
        hardness_unit = "mm"
        [fitness.d]
        note = "x"
        unit = "mm"
        [fitness.d.station_classes.left]
        stations = ["left", "thrust"]
        least_wall = 4
        [fitness.d.station_classes.right]
        stations = ["thrust"]
        least_wall = 4
        """
    )
    assert (
        found["fitness.a.least_wal"]
        == ("There is no key “least_wal” here; did you mean “least_wall”?.")
        or "least_wall" in found["fitness.a.least_wal"]
    )
    assert found["fitness.a.note"] == "“note” is required and not given."
    assert "length" in found["fitness.a.unit"]
    assert found["fitness.b"] == "The duty asks nothing; give it a limit."
    assert found["fitness.c.unit"] == "A length needs the “unit” it is in."
    assert "must lie below" in found["fitness.c.hardness_low"]
    assert "hardness scale" in found["fitness.c.hardness_unit"]
    assert found["fitness.d.station_classes.left.stations"] == "It is not in [drawing.stations]."
    assert "class “left” already" in found["fitness.d.station_classes.right.stations"]


def test_stations_need_a_drawing() -> None:
    found = faults(FULL, None)
    assert list(found) == ["fitness.race.station_classes.thrust_sides.stations"]


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("oversizes = [0.5, -1]", "oversizes"),
        ("largest_offset = -0.1", "largest_offset"),
        ("least_wall = 0", "least_wall"),
        ("overbores = [1]", "overbores"),
    ],
)
def test_faults_of_boring(key, said) -> None:
    with pytest.raises(FaultsError, match=rf"boring\.{said}"):
        stated_boring(study(f"[boring]\n{key}"))
