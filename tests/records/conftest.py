"""A small study made in a folder of the test's own."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from workbench.records.intake import read_records
from workbench.records.settings import load_settings
from workbench.records.store import Records

HEADER = "block,family,quantity,value,unit"
SETTINGS = 'title = "A study"\n'
Reader = Callable[..., Records]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Give a study folder with the shortest settings."""
    place = tmp_path / "study"
    place.mkdir()
    (place / "study.toml").write_text(SETTINGS, encoding="utf-8")
    return place


@pytest.fixture
def read(folder: Path) -> Reader:
    """Give a reader of the study; text given is written as readings.csv first."""

    def reader(text: str | bytes | None = None, *, settings: str = "", **given: object) -> Records:
        if settings:
            (folder / "study.toml").write_text(SETTINGS + settings, encoding="utf-8")
        if text is not None:
            content = text.encode() if isinstance(text, str) else text
            (folder / "readings.csv").write_bytes(content)
        return read_records(folder, load_settings(folder), **given)  # type: ignore[arg-type]

    return reader
