"""A study whose readings are a collection, and files to add to it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from workbench.records.collection.adding import Added, add_readings
from workbench.records.intake import read_records
from workbench.records.settings import load_settings
from workbench.records.store import Records

HEADER = "block,family,quantity,value,unit,bore,station,repeat,measured_on"
BEGUN = datetime(2026, 3, 1, 12, tzinfo=UTC)
Writer = Callable[..., Path]
Adder = Callable[..., Added]
Reader = Callable[..., Records]


def rows(block: str, family: str, values: Iterable[object], day: str = "2026-03-01") -> list[str]:
    """Give the readings of a wall of one bore, a station each."""
    return [
        f"{block},{family},wall_thickness,{value},mm,1,{at},1,{day}"
        for at, value in enumerate(values)
    ]


@pytest.fixture
def write(tmp_path: Path) -> Writer:
    """Write a file of readings beside the study."""

    def writer(name: str, lines: Iterable[str], header: str = HEADER) -> Path:
        path = tmp_path / name
        path.write_text("\n".join([header, *lines]) + "\n", encoding="utf-8")
        return path

    return writer


@pytest.fixture
def add(folder: Path) -> Adder:
    """Add files to the study; each time an hour later, unless told when."""
    made = 0

    def adder(*files: Path, now: datetime | None = None) -> Added:
        nonlocal made
        made += 1
        return add_readings(folder, files, now=now or BEGUN + timedelta(hours=made))

    return adder


@pytest.fixture
def held(folder: Path) -> Reader:
    """Read the study as it stands, or as of a time."""

    def reader(as_of: datetime | None = None) -> Records:
        return read_records(folder, load_settings(folder), as_of=as_of)

    return reader
