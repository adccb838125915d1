"""The data folder beside the package, and the generator of the demo study as modules."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path
from types import ModuleType

import pytest

DATA = Path(__file__).parents[2] / "data"


@pytest.fixture(scope="session")
def data() -> Path:
    return DATA


@pytest.fixture(scope="session")
def marlowe_four() -> ModuleType:
    """What is planted in the demo study."""
    return _module("marlowe_four")


@pytest.fixture(scope="session")
def generate_demo() -> ModuleType:
    """How the demo study is written down."""
    return _module("generate_demo")


def _module(name: str) -> ModuleType:
    sys.path.insert(0, str(DATA))
    try:
        return importlib.import_module(name)
    finally:
        sys.path.remove(str(DATA))


@pytest.fixture(scope="session")
def generate_bench() -> ModuleType:
    """How the bench study is written down, and what is planted in it."""
    return _module("generate_bench")
