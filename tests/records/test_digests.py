from __future__ import annotations

import os
from pathlib import Path

import pytest

from workbench.records.digests import changed, stamp


def test_against_fips_180(tmp_path: Path) -> None:
    """FIPS 180-4, the SHA-256 example of the message “abc” (from memory)."""
    (tmp_path / "a").write_bytes(b"abc")
    found = stamp(tmp_path, "a")
    assert found.sha256 == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert found.size == 3


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    absent = stamp(tmp_path, "a")
    assert absent.sha256 == ""
    assert changed(tmp_path, [absent]) == []
    (tmp_path / "a").write_bytes(b"abc")
    assert changed(tmp_path, [absent]) == ["a"]


@pytest.mark.parametrize("small", [0, 1000])
def test_a_change_of_one_byte_is_seen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, small: int
) -> None:
    monkeypatch.setattr("workbench.records.digests.SMALL", small)
    path = tmp_path / "a"
    path.write_bytes(b"abc")
    known = stamp(tmp_path, "a")
    assert changed(tmp_path, [known]) == []
    os.utime(path)
    assert changed(tmp_path, [known]) == []
    path.write_bytes(b"abd")
    assert changed(tmp_path, [known]) == ["a"]
    path.unlink()
    assert changed(tmp_path, [known]) == ["a"]
