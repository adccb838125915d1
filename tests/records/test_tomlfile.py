from __future__ import annotations

import math
from pathlib import Path

import pytest

from workbench.errors import StudyError
from workbench.records.faults import FaultsError
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


@pytest.mark.parametrize("digits", ["9" * 400, "0x" + "f" * 5000])
def test_whole_numbers_beyond_64_bits_stay_at_their_key(tmp_path: Path, digits: str) -> None:
    """TOML 1.0 asks for 64 bits and no more (toml.io, Integer)."""
    path = tmp_path / "large.toml"
    least, most = -(2**63), 2**63 - 1
    path.write_text(f"ends = [{least}, {most}]\na = {digits}\nb = {{c = -{10**20}}}\n")
    assert read_toml(path) == {"ends": [least, most], "a": math.inf, "b": {"c": -1e20}}
    assert all(isinstance(end, int) for end in read_toml(path)["ends"])


def test_a_whole_number_too_long_to_be_read(tmp_path: Path) -> None:
    (tmp_path / "long.toml").write_text("a = " + "9" * 5000)
    with pytest.raises(FaultsError, match="whole number of more than 4000 digits"):
        read_toml(tmp_path / "long.toml")
