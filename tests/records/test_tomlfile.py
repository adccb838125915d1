from __future__ import annotations

from pathlib import Path

import pytest

from workbench.errors import StudyError
from workbench.records.tomlfile import read_toml, toml_key


def test_keys_are_written_as_toml_writes_them() -> None:
    assert toml_key(("claim", 0, "margin")) == "claim[1].margin"
    assert toml_key(("families", "heavy one", "price")) == 'families."heavy one".price'
    assert toml_key(()) == ""


def test_a_file_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(StudyError, match=r"gone\.toml cannot be read: No such file"):
        read_toml(tmp_path / "gone.toml")
    (tmp_path / "marked.toml").write_text("a = 1\r\n", encoding="utf-8-sig")
    assert read_toml(tmp_path / "marked.toml") == {"a": 1}
