"""Answers printed by R, read from the files kept beside their scripts."""

from collections.abc import Callable
from pathlib import Path

import pytest

R_FOLDER = Path(__file__).parent / "r"
Printed = dict[str, list[float]]


def _numbers(line: str) -> tuple[str, list[float]]:
    name, *words = line.split()
    return name, [float(word) for word in words]


@pytest.fixture(scope="session")
def printed_by_r() -> Callable[[str], Printed]:
    """Read `NAME.txt` with lines `name number number ...`; lines starting with # are remarks."""

    def read(name: str) -> Printed:
        lines = (R_FOLDER / f"{name}.txt").read_text(encoding="utf-8").splitlines()
        return dict(_numbers(line) for line in lines if line and not line.startswith("#"))

    return read
