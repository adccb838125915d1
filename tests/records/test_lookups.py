from __future__ import annotations

from pathlib import Path

import pytest

from workbench.records.lookups import station_name
from workbench.records.settings import load_settings
from workbench.study import open_study

DRAWING = 'title = "x"\n[drawing.stations]\nfront = 0\nthrust = 90\n"rear left" = 200.5\n'


@pytest.mark.parametrize(
    ("word", "name"),
    [
        ("front", "front"),
        ("FRONT", "front"),
        ("Rear-Left", "rear left"),
        ("0", "front"),
        ("360", "front"),
        ("90.0", "thrust"),
        ("90°", "thrust"),
        ("90 °", "thrust"),
        ("200,5", "rear left"),
        ("45", "45"),
        ("45.50", "45.5"),
        ("", ""),
        ("left", None),
        ("-1", None),
        ("361", None),
        ("nan", None),
        ("inf", None),
    ],
)
def test_stations_of_a_drawing(folder: Path, word: str, name: str | None) -> None:
    (folder / "study.toml").write_text(DRAWING, encoding="utf-8")
    assert station_name(word, load_settings(folder)) == name


@pytest.mark.parametrize(
    ("word", "name"), [("left", "left"), ("45.0", "45"), ("nan", "nan"), ("400", "400")]
)
def test_stations_without_a_drawing(folder: Path, word: str, name: str) -> None:
    assert station_name(word, load_settings(folder)) == name


def test_a_column_of_more_words_than_are_read(read, monkeypatch: pytest.MonkeyPatch) -> None:  # type: ignore[no-untyped-def]
    """The commonest words are looked at; those beyond count as unknown, and are reported."""
    monkeypatch.setattr("workbench.records.lookups.WORDS_READ", 3)
    text = "block,family,quantity,value,unit\n" + "".join(
        f"B{at},works,mass,5,kg\nC{at},works,word{at},5,kg\n" for at in range(6)
    )
    records = read(text)
    assert records.accepted == 6
    assert {fault.code for fault in records.faults} == {"unknown_quantity"}


def test_a_quantity_of_the_study_comes_before_another_word(tmp_path: Path) -> None:
    """“deck” is a word for deck_thickness, unless the study declares a quantity of that name."""
    for declared, meant in (("", "deck_thickness"), ("[quantities.deck]\nunit = 'kg'\n", "deck")):
        (tmp_path / "study.toml").write_text(f"title = 'x'\n{declared}")
        unit = "kg" if declared else "mm"
        (tmp_path / "readings.csv").write_text(
            f"block,family,quantity,value,unit\nB1,f,deck,11.5,{unit}\nB1,f,Deck,11.7,{unit}\n"
        )
        records = open_study(tmp_path).records
        assert set(records.cells["quantity"]) == {meant}
        assert records.rejected == 0
