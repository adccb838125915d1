"""Reductions kept between commands: the same answer, never an old one, never a reason to fail."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from tests.records.conftest import SETTINGS
from workbench.errors import StudyError
from workbench.records import intake, intake_pass, kept
from workbench.records.intake import read_records
from workbench.records.settings import load_settings
from workbench.records.store import CELLS, Records

TEXT = (
    "block,family,quantity,value,unit\n"
    "B1,works,mass,61.5,kg\nB2,works,mass,61.7,kg\nB3,trophy,mass,x,kg\nB3,works,mass,62,kg\n"
)
Reader = Callable[..., Records]
DAY = 86_400.0


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """Give a folder for what is kept, which is not there yet."""
    return tmp_path / "cache" / "reductions"


@pytest.fixture(scope="module")
def first_read(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Records]:
    """Give a folder where a study read once is kept, to be copied, and its records."""
    made = tmp_path_factory.mktemp("first")
    (made / "study.toml").write_text(SETTINGS, encoding="utf-8")
    (made / "readings.csv").write_text(TEXT, encoding="utf-8")
    return made / "kept", read_records(made, load_settings(made), kept=made / "kept")


@pytest.fixture
def first(folder: Path, place: Path, first_read: tuple[Path, Records]) -> Records:
    """Give the records of a study as `read` has it, kept in `place` as they were first read."""
    kept_there, records = first_read
    shutil.copytree(kept_there, place)
    (folder / "readings.csv").write_text(TEXT, encoding="utf-8")
    return records


@pytest.fixture
def passes(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """Give the list of the studies whose readings were gone through, as it grows."""
    found: list[Path] = []
    through = intake_pass.read_through

    def counted(folder: Path, *given: object, **named: object) -> None:
        found.append(folder)
        through(folder, *given, **named)  # type: ignore[arg-type]

    monkeypatch.setattr(intake_pass, "read_through", counted)
    return found


def same(one: Records, other: Records) -> None:
    for name in ("rows_in", "accepted", "rejected", "files", "faults", "notices", "digests"):
        assert getattr(one, name) == getattr(other, name)
    for name in ("cells", "blocks", "calibrations", "correlations"):
        pd.testing.assert_frame_equal(getattr(one, name), getattr(other, name))
    pd.testing.assert_frame_equal(one.rejected_rows(), other.rejected_rows())
    pd.testing.assert_frame_equal(one.values("mass", ["block"]), other.values("mass", ["block"]))


def test_the_second_time_nothing_is_read_through(
    read: Reader, place: Path, passes: list[Path]
) -> None:
    first = read(TEXT, kept=place)
    again = read(kept=place)
    assert len(passes) == 1
    same(first, again)
    assert oct(place.stat().st_mode & 0o777) == "0o700"
    assert [path.name for path in place.iterdir()] == [again.shelf.folder.name]


def test_nothing_is_kept_unasked(read: Reader, place: Path, passes: list[Path]) -> None:
    read(TEXT)
    read()
    assert len(passes) == 2
    assert not place.exists()


def test_a_copy_of_the_study_is_known(
    read: Reader, folder: Path, place: Path, first: Records, passes: list[Path]
) -> None:
    for path in folder.iterdir():
        path.write_bytes(path.read_bytes())
        os.utime(path, (1, 1))
    same(first, read(kept=place))
    assert passes == []


@pytest.mark.parametrize("name", ["readings.csv", "study.toml", "blocks.csv"])
def test_another_byte_is_read_anew(
    read: Reader, folder: Path, place: Path, passes: list[Path], name: str
) -> None:
    (folder / "blocks.csv").write_text("block,family\nB1,works\n")
    read(TEXT, kept=place)
    before = (folder / name).stat()
    content = (folder / name).read_bytes()
    (folder / name).write_bytes(content.replace(b"1", b"2").replace(b"A study", b"B study"))
    os.utime(folder / name, ns=(before.st_atime_ns, before.st_mtime_ns))
    same(read(kept=place), read())
    assert len(passes) == 3
    (folder / name).write_bytes(content)
    read(kept=place)
    assert len(passes) == 3


def test_a_file_that_came_is_read(
    read: Reader, folder: Path, place: Path, first: Records, passes: list[Path]
) -> None:
    (folder / "blocks.csv").write_text("block,family,price\nB1,works,900\n")
    assert read(kept=place).blocks["price"].tolist()[0] == 900
    assert len(passes) == 1


def test_another_version_of_the_reading_reads_anew(
    read: Reader,
    place: Path,
    first: Records,
    passes: list[Path],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    read(kept=place)
    assert passes == []
    monkeypatch.setattr(kept, "_our_own_text", lambda: "another")
    read(kept=place)
    assert len(passes) == 1


@pytest.mark.parametrize("harm", ["cut", "gone", "extra", "no list", "odd list"])
def test_what_is_damaged_is_made_anew(
    read: Reader, place: Path, first: Records, passes: list[Path], harm: str
) -> None:
    (entry,) = place.iterdir()
    cells = entry / CELLS
    if harm == "cut":
        cells.write_bytes(cells.read_bytes()[:-9])
    elif harm == "gone":
        cells.unlink()
    elif harm == "extra":
        (entry / "more.txt").write_text("more")
    elif harm == "no list":
        (entry / kept.WHOLE).unlink()
    else:
        (entry / kept.WHOLE).write_text("{")
    same(first, read(kept=place))
    assert len(passes) == 1
    same(first, read(kept=place))
    assert len(passes) == 1


def test_a_place_that_cannot_be_used_is_no_reason_to_fail(
    read: Reader, tmp_path: Path, passes: list[Path]
) -> None:
    (tmp_path / "file").write_text("in the way")
    for _ in range(2):
        assert read(TEXT, kept=tmp_path / "file" / "cache").accepted == 3
    assert len(passes) == 2


def test_files_that_change_while_they_are_read_are_not_kept(
    read: Reader, folder: Path, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    through = intake_pass.read_through

    def meanwhile(*given: object, **named: object) -> None:
        through(*given, **named)  # type: ignore[arg-type]
        (folder / "readings.csv").write_text(TEXT + "B4,works,mass,60,kg\n")

    monkeypatch.setattr(intake_pass, "read_through", meanwhile)
    assert read(TEXT, kept=place).accepted == 3
    assert not place.exists()


def test_a_study_that_cannot_be_read_keeps_nothing(read: Reader, place: Path) -> None:
    with pytest.raises(StudyError):
        read(b"PK\x03\x04 a workbook by another name", kept=place)
    assert not place.exists()


def test_another_process_that_was_faster_stays(place: Path, first: Records) -> None:
    (entry,) = place.iterdir()
    before = (entry / CELLS).stat().st_ino
    kept.keep(first, place, entry.name)
    assert (entry / CELLS).stat().st_ino == before
    assert [path.name for path in place.iterdir()] == [entry.name]


def test_what_a_killed_process_left_goes(read: Reader, place: Path) -> None:
    place.mkdir(parents=True)
    left = place / f"{kept.PARTIAL}dead"
    left.mkdir()
    os.utime(left, (1, 1))
    read(TEXT, kept=place)
    assert not left.exists()


def test_room_is_made_of_what_is_long_unused(place: Path) -> None:
    now = time.time()
    names = {sign * 64: days for sign, days in (("a", 0.0), ("b", 0.5), ("c", 5.0), ("d", 40.0))}
    names |= {"of somebody else": 400.0, "e" * 64: 400.0}
    for name, days in names.items():
        (place / name).mkdir(parents=True)
        (place / name / CELLS).write_bytes(b"x" * 1000)
        if name != "e" * 64:
            (place / name / kept.WHOLE).write_text("{}")
        os.utime(place / name, (now - days * DAY, now - days * DAY))
    kept.make_room(place, spared="a" * 64, room=10_000)
    assert {path.name for path in place.iterdir()} == names.keys() - {"d" * 64}
    kept.make_room(place, spared="a" * 64, room=1_500)
    assert {path.name for path in place.iterdir()} == names.keys() - {"d" * 64, "c" * 64}


def test_a_reduction_in_use_stays_young(read: Reader, place: Path, first: Records) -> None:
    (entry,) = place.iterdir()
    os.utime(entry, (1, 1))
    read(kept=place)
    assert entry.stat().st_mtime > time.time() - DAY


def test_the_name_hangs_on_all_that_decides(folder: Path) -> None:
    (folder / "readings.csv").write_text(TEXT, encoding="utf-8")
    stamps = [intake.stamp(folder, name) for name in ("study.toml", "readings.csv")]
    name = kept.kept_name(stamps, None, "duckdb")
    assert name == kept.kept_name(stamps, None, "duckdb")
    assert name != kept.kept_name(stamps[:1], None, "duckdb")
    assert name != kept.kept_name(stamps, None, "spark")
