from __future__ import annotations

import json
import shutil
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner

from tests.records.collection.conftest import BEGUN, HEADER, Adder, Reader, Writer, rows
from workbench.cli import main
from workbench.errors import StudyError
from workbench.records.collection.adding import add_readings
from workbench.records.collection.additions import next_time
from workbench.records.collection.as_of import moment, told
from workbench.records.faults import FaultsError
from workbench.records.settings import load_settings

DEMO = Path(__file__).parents[3] / "data" / "demo"


@pytest.mark.parametrize(
    ("stated", "meant"),
    [
        ("2026-11-25", datetime(2026, 11, 25, 23, 59, 59, 999999, UTC)),
        (date(2026, 11, 25), datetime(2026, 11, 25, 23, 59, 59, 999999, UTC)),
        ("2026-11-25T14:30", datetime(2026, 11, 25, 14, 30, tzinfo=UTC)),
        (" 2026-11-25 14:30:05.25Z ", datetime(2026, 11, 25, 14, 30, 5, 250000, UTC)),
        ("2026-11-25T14:30+02:00", datetime(2026, 11, 25, 12, 30, tzinfo=UTC)),
        (datetime(2026, 11, 25, 14), datetime(2026, 11, 25, 14, tzinfo=UTC)),
    ],
)
def test_what_is_meant_by_a_day_or_a_time(stated: str | date, meant: datetime) -> None:
    assert moment(stated) == meant
    assert moment(told(meant)) == meant


@pytest.mark.parametrize("stated", ["yesterday", "", "2026-13-01", "9999-12-31T23:00-05:00"])
def test_what_is_neither(stated: str) -> None:
    with pytest.raises(StudyError, match=r"as_of must be a day .* or a time"):
        moment(stated)


def test_the_collection_as_it_was(write: Writer, add: Adder, held: Reader) -> None:
    add(write("a.csv", rows("B1", "works", [5.1, "x"])), now=BEGUN)
    mend = "mends,block,family,quantity,value,unit,bore,station,repeat,measured_on,was_value"
    fixes = [
        "1-1,B1,works,wall_thickness,5.2,mm,1,1,1,2026-03-01,",
        ",B1,works,wall_thickness,5.15,mm,1,0,1,2026-03-01,5.1",
    ]
    add(write("b.csv", fixes, mend), now=BEGUN + timedelta(days=1))
    add(write("c.csv", rows("B2", "works", [5.3])), now=BEGUN + timedelta(days=2))
    told_of = [
        (records.rows_in, records.rejected, int(records.cells["s1"].sum()))
        for records in (held(BEGUN + timedelta(days=days)) for days in range(4))
    ]
    assert told_of == [(2, 1, 51), (2, 0, 515 + 520), (3, 0, 515 + 520 + 530), told_of[2]]
    with pytest.raises(StudyError, match=r"held nothing on 2026-02-28T23:59:59.* the first"):
        held(moment("2026-02-28"))


def test_readings_without_a_history_have_no_as_of(folder: Path, held: Reader) -> None:
    (folder / "readings.csv").write_text(f"{HEADER}\n")
    with pytest.raises(StudyError, match=r"“readings\.csv” keep no history"):
        held(BEGUN)


def test_as_of_in_the_settings(folder: Path, write: Writer, add: Adder, held: Reader) -> None:
    for at in (1, 2):
        add(write(f"{at}.csv", rows(f"B{at}", "works", [5.1])), now=BEGUN + timedelta(days=at))
    settings = folder / "study.toml"
    for stated in ("2026-03-02", '"2026-03-02"', "2026-03-02T12:00:00Z", '"2026-03-02T12:00Z"'):
        settings.write_text(f'title = "A"\n[readings]\nas_of = {stated}\n')
        assert held().accepted == 1
        assert held(BEGUN + timedelta(days=9)).accepted == 2, "what is asked for comes first"
    settings.write_text('title = "A"\n[readings]\nas_of = "tomorrow"\n')
    with pytest.raises(FaultsError, match=r"readings\.as_of: “as_of” must be a day"):
        load_settings(folder)


def test_a_clock_set_back_is_told_and_orders_nothing(
    write: Writer, add: Adder, held: Reader
) -> None:
    first = add(write("a.csv", rows("B1", "works", [5.1])))
    assert first.addition is not None
    assert first.clock == ""
    early = add(write("b.csv", rows("B2", "works", [5.2])), now=datetime(2020, 1, 1, tzinfo=UTC))
    assert early.addition is not None
    assert early.addition.added == first.addition.added + timedelta(microseconds=1)
    assert "The clock says 2020-01-01T00:00:00Z, which is not after the latest" in early.clock
    assert told(early.addition.added) in early.clock
    assert held(first.addition.added).accepted == 1
    assert held(early.addition.added).accepted == 2


def test_the_next_time() -> None:
    assert next_time(None, BEGUN) == BEGUN
    assert next_time(BEGUN, BEGUN) > BEGUN
    assert next_time(BEGUN, BEGUN + timedelta(1)) == BEGUN + timedelta(1)


def test_an_earlier_verdict_byte_for_byte(tmp_path: Path) -> None:
    """Decks of the demo in two additions and a correction: judged then, and again at the end.

    The verdicts of the first are those of its rows in one file.
    """
    study = tmp_path / "demo"
    shutil.copytree(DEMO, study)
    every = pd.read_csv(study / "readings.csv", dtype=str, keep_default_na=False)
    every = every[every["quantity"] == "deck_thickness"]  # all that the claim rests on
    (study / "readings.csv").unlink()
    blocks = every["block"].unique()
    early = every["block"].isin(blocks[::2])
    every[early].to_csv(tmp_path / "early.csv", index=False)
    every[~early].to_csv(tmp_path / "late.csv", index=False)
    sound = every.iloc[[0]]
    sound.assign(was_value=sound["value"], value="9.87").to_csv(tmp_path / "fix.csv", index=False)
    judged, times = [], []
    for name in ("early", "late", "fix"):
        added = add_readings(study, [tmp_path / f"{name}.csv"])
        assert added.addition is not None
        times.append(told(added.addition.added))
        judged.append(judge(study))
    assert len(set(judged)) == 3
    assert [judge(study, "--as-of", at) for at in times[:2]] == judged[:2]
    plain = tmp_path / "plain" / "demo"
    shutil.copytree(DEMO, plain)
    shutil.copyfile(tmp_path / "early.csv", plain / "readings.csv")
    assert judge(plain) == judged[0]
    settings = study / "study.toml"
    settings.write_text(f"{settings.read_text()}\n[readings]\nas_of = {times[1]}\n")
    assert judge(study) == judged[1]


def judge(study: Path, *more: str) -> str:
    given = ["judge", str(study), "--json", "--only", "deck-thicker", *more]
    result = CliRunner().invoke(main, given, catch_exceptions=False)
    assert result.exit_code == 0, result.output
    assert json.loads(result.stdout)["verdicts"][0]["outcome"]
    return result.stdout
