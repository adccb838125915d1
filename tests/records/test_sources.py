from __future__ import annotations

import os
from pathlib import Path

import pytest

from workbench.errors import StudyError
from workbench.records.faults import FaultsError
from workbench.records.sources import inside, optional_source, readings_sources

PNG = b"\x89PNG\r\n\x1a\n" + b"\x00" * 40


def code_of(caught: pytest.ExceptionInfo[FaultsError]) -> str:
    (fault,) = caught.value.faults
    assert fault.row is None
    return fault.code


def test_the_one_set_of_readings_is_found(folder: Path) -> None:
    (folder / "readings.csv").write_text("block\n")
    (source,) = readings_sources(folder, None)
    assert (source.name, source.ending) == ("readings.csv", ".csv")


def test_a_folder_of_parquet_in_the_order_of_names(folder: Path) -> None:
    (folder / "readings" / "deep").mkdir(parents=True)
    for name in ("b.parquet", "a.parquet", "deep/c.parquet"):
        (folder / "readings" / name).write_bytes(b"PAR1")
    names = [source.name for source in readings_sources(folder, None)]
    assert names == ["readings/a.parquet", "readings/b.parquet", "readings/deep/c.parquet"]


def test_a_folder_of_parquet_in_a_study_named_from_where_one_stands(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder / "readings").mkdir()
    (folder / "readings" / "a.parquet").write_bytes(b"PAR1")
    monkeypatch.chdir(folder.parent)
    (source,) = readings_sources(Path(folder.name), None)
    assert source.name == "readings/a.parquet"
    assert source.path == (folder / "readings" / "a.parquet").resolve()


def test_none_or_two_sets_of_readings(folder: Path) -> None:
    with pytest.raises(StudyError, match="has no readings"):
        readings_sources(folder, None)
    (folder / "readings").mkdir()
    with pytest.raises(StudyError, match="holds no Parquet or CSV file"):
        readings_sources(folder, None)
    (folder / "readings.csv").write_text("block\n")
    with pytest.raises(StudyError, match="more than one set of readings"):
        readings_sources(folder, None)
    with pytest.raises(StudyError, match=r"“other\.csv” are not in the study"):
        readings_sources(folder, "other.csv")


@pytest.mark.parametrize("name", ["../outside.csv", "/etc/passwd", "a/../../outside.csv", "."])
def test_a_path_that_leaves_the_study(folder: Path, name: str) -> None:
    (folder.parent / "outside.csv").write_text("block\n")
    with pytest.raises(FaultsError, match="leaves the study folder") as caught:
        readings_sources(folder, name)
    assert code_of(caught) == "outside_study"


def test_a_link_that_leaves_the_study(folder: Path) -> None:
    (folder.parent / "outside.csv").write_text("block\n")
    (folder / "readings.csv").symlink_to(folder.parent / "outside.csv")
    with pytest.raises(FaultsError, match="leaves the study folder") as caught:
        readings_sources(folder, None)
    assert code_of(caught) == "outside_study"


def test_a_linked_file_in_a_folder_of_parquet(folder: Path) -> None:
    (folder.parent / "outside.parquet").write_bytes(b"PAR1")
    (folder / "readings").mkdir()
    (folder / "readings" / "a.parquet").symlink_to(folder.parent / "outside.parquet")
    with pytest.raises(FaultsError, match="leaves the study folder"):
        readings_sources(folder, None)


def test_a_link_within_the_study_and_to_the_study_are_fine(folder: Path) -> None:
    (folder / "walls.csv").write_text("block\n")
    (folder / "readings.csv").symlink_to(folder / "walls.csv")
    linked = folder.parent / "linked"
    linked.symlink_to(folder)
    assert readings_sources(linked, None)[0].path == folder.resolve() / "walls.csv"


@pytest.mark.parametrize(
    ("name", "content", "code", "said"),
    [
        ("readings.csv", PNG, "not_its_ending", "holds a PNG picture"),
        ("readings.csv", b"PK\x03\x04rest", "not_its_ending", "zip archive or workbook"),
        ("readings.csv", b"%PDF-1.7", "not_its_ending", "PDF document"),
        ("readings.csv", b"PAR1", "not_its_ending", "Parquet file"),
        ("readings.csv", b"", "empty_file", "empty"),
        ("readings.xlsx", b"block,family\n", "not_its_ending", "of another kind"),
        ("readings.xlsx", PNG, "not_its_ending", "PNG picture"),
        ("readings.xlsx", b"\xd0\xcf\x11\xe0", "not_its_ending", "save it as .xlsx"),
        ("readings.parquet", b"block,family\n", "not_its_ending", "of another kind"),
    ],
)
def test_a_file_that_is_not_what_its_ending_says(
    folder: Path, name: str, content: bytes, code: str, said: str
) -> None:
    (folder / name).write_bytes(content)
    with pytest.raises(FaultsError, match=said) as caught:
        readings_sources(folder, None)
    assert code_of(caught) == code
    assert caught.value.faults[0].file == name


def test_an_ending_that_is_not_known(folder: Path) -> None:
    (folder / "readings.ods").write_bytes(b"PK")
    with pytest.raises(FaultsError, match="must be one of") as caught:
        readings_sources(folder, "readings.ods")
    assert code_of(caught) == "unknown_ending"


def test_a_folder_or_pipe_in_the_place_of_a_file(folder: Path) -> None:
    (folder / "blocks.csv").mkdir()
    with pytest.raises(FaultsError, match="not a file") as caught:
        optional_source(folder, "blocks.csv")
    assert code_of(caught) == "not_a_file"
    os.mkfifo(folder / "readings.csv")
    with pytest.raises(FaultsError, match="not a file"):
        readings_sources(folder, None)
    assert optional_source(folder, "calibrations.csv") is None


def test_inside(folder: Path) -> None:
    assert inside(folder, "a/b.csv") == folder.resolve() / "a" / "b.csv"
