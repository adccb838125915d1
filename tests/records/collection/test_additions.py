"""Whatever was done to a collection by hand is named, by reading it and by adding to it."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from tests.records.collection.conftest import BEGUN, HEADER, Adder, Reader, Writer, rows
from tests.records.conftest import SETTINGS
from workbench.errors import StudyError
from workbench.records.collection.adding import add_readings
from workbench.records.collection.additions import RECORD, history, is_collection


@pytest.fixture(scope="module")
def three(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a study whose readings are a collection of three additions, to be copied."""
    study = tmp_path_factory.mktemp("three")
    (study / "study.toml").write_text(SETTINGS, encoding="utf-8")
    for at in (1, 2, 3):
        lines = [HEADER, *rows(f"B{at}", "works", [5.1, 5.2, "x"])]
        (study / "new.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
        add_readings(study, [study / "new.csv"], now=BEGUN - timedelta(days=4 - at))
    return study


@pytest.fixture
def collection(folder: Path, three: Path) -> Path:
    """Give a collection of three additions."""
    return shutil.copytree(three / "readings", folder / "readings")


def part_of(collection: Path, number: int) -> Path:
    return next((collection / f"addition-{number:06d}").rglob("*.parquet"))


def refused(said: str, held: Reader, add: Adder, write: Writer) -> None:
    """Check that reading and adding say the same, and that nothing was added."""
    file = write("more.csv", rows("B9", "works", [5.4]))
    for attempt in (held, lambda: add(file)):
        with pytest.raises(StudyError, match=said):
            attempt()


def other_schema(part: Path) -> None:
    pq.write_table(pa.table({"block": ["B1"], "sky": [1.5]}), part)


def cut_short(part: Path) -> None:
    part.write_bytes(part.read_bytes()[:-200])


def emptied(part: Path) -> None:
    part.write_bytes(b"")


@pytest.mark.parametrize("spoil", [other_schema, cut_short, emptied])
def test_a_part_that_was_changed_or_cut_short(
    collection: Path, held: Reader, add: Adder, write: Writer, spoil: Callable[[Path], None]
) -> None:
    part = collection / "addition-000002" / "family=works" / "year=2026" / "part.parquet"
    whole = part.read_bytes()
    spoil(part)
    said = "addition-000002 is not as it was written: family=works/year=2026/part.parquet was"
    refused(said, held, add, write)
    part.write_bytes(whole)
    assert held().accepted == 6


def test_a_part_changed_within_its_size(collection: Path, held: Reader) -> None:
    part = collection / "addition-000002" / "family=works" / "year=2026" / "part.parquet"
    content = part.read_bytes()
    part.write_bytes(content.replace(b"B2", b"B7"))
    assert part.stat().st_size == len(content)
    with pytest.raises(StudyError, match="readings is not as it was written: addition-000002/fam"):
        held()


def test_a_part_damaged_within_its_size_is_told_when_it_is_needed(
    collection: Path, held: Reader, add: Adder, write: Writer
) -> None:
    part = collection / "addition-000002" / "family=works" / "year=2026" / "part.parquet"
    content = part.read_bytes()
    part.write_bytes(content[:4] + b"\xff" * (len(content) - 12) + content[-8:])
    with pytest.raises(StudyError, match="readings cannot be read: "):
        add(write("more.csv", rows("B2", "works", [5.4])))
    part.write_bytes(content)
    assert held().accepted == 6


def test_a_file_that_was_not_added_there(
    collection: Path, held: Reader, add: Adder, write: Writer
) -> None:
    place = collection / "addition-000001"
    (place / ".DS_Store").write_text("left by a desktop")
    assert held().accepted == 6
    other_schema(place / "family=works" / "more.parquet")
    refused(r"holds family=works/more\.parquet, which was not added there", held, add, write)


def test_an_addition_that_is_missing(
    collection: Path, held: Reader, add: Adder, write: Writer
) -> None:
    (collection / "addition-000002").rename(collection.parent / "taken")
    refused(
        "readings is not whole: addition-000002 is missing, and addition-000003", held, add, write
    )


def test_a_part_that_is_missing(collection: Path, held: Reader, add: Adder, write: Writer) -> None:
    (collection / "addition-000002" / "rejected.csv").unlink()  # the reader's own copy
    assert held().accepted == 6
    (collection / "addition-000003" / "rejected.parquet").unlink()
    refused(r"addition-000003 is not whole: rejected\.parquet is missing", held, add, write)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is not as it was written"),
        ("{", "is not as it was written"),
        ("[1, 2]", "is not as it was written"),
        ('{"format": 1, "number": 1}', r"is not as it was written \(added\)"),
    ],
)
def test_a_record_that_is_none(
    collection: Path, held: Reader, add: Adder, write: Writer, text: str, said: str
) -> None:
    (collection / "addition-000001" / RECORD).write_text(text)
    refused(f"readings/addition-000001/{RECORD} {said}", held, add, write)


def test_a_record_of_another_addition_or_version(
    collection: Path, held: Reader, add: Adder, write: Writer
) -> None:
    record = collection / "addition-000001" / RECORD
    content = json.loads(record.read_text())
    for change in ({"number": 7}, {"format": 9}):
        record.write_text(json.dumps(content | change))
        refused("is of another version, or of another addition", held, add, write)


def test_a_record_that_points_out_of_the_study(
    collection: Path, held: Reader, add: Adder, write: Writer
) -> None:
    """A study may come from a stranger: no path of a record is followed out of its addition."""
    secret = collection.parent.parent / "secret.parquet"
    other_schema(secret)
    record = collection / "addition-000001" / RECORD
    content = json.loads(record.read_text())
    (name, part), *_ = content["parts"].items()
    content["parts"] = {"../../../secret.parquet": part}
    record.write_text(json.dumps(content))
    refused(r"is not whole: \.\./\.\./\.\./secret\.parquet is missing", held, add, write)
    content["parts"] = {name: part | {"size": secret.stat().st_size}}
    record.write_text(json.dumps(content))
    link = collection / "addition-000001" / name
    link.unlink()
    link.symlink_to(secret)
    with pytest.raises(StudyError, match="leaves the study folder"):
        held()


def test_a_record_that_supersedes_what_is_not_there(
    collection: Path, held: Reader, add: Adder, write: Writer
) -> None:
    record = collection / "addition-000003" / RECORD
    content = json.loads(record.read_text())
    content["superseded"] = {"addition-000009/part.parquet": [2], "../x": [-1]}
    record.write_text(json.dumps(content))
    assert held().accepted == 6
    add(write("more.csv", rows("B2", "works", [5.1, 5.2, 5.4])))
    assert held().accepted == 7


def test_an_addition_of_rejected_rows_alone(
    folder: Path, write: Writer, add: Adder, held: Reader
) -> None:
    add(write("new.csv", rows("B1", "works", ["x", "y"])))
    records = held()
    assert (records.rows_in, records.accepted, records.rejected) == (2, 0, 2)
    assert is_collection(folder / "readings")
    assert history(folder / "readings").parts == {}
