"""Tiny notebooks, and one fork server for the tests that only need a kernel."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from workbench.runs import kernels
from workbench.runs.kernels import open_kernels
from workbench.runs.notebook_libraries import load

SECONDS_TO_COME_TRUE = 60.0
PARAMETERS = 'study = "../data/demo"\nseed = 1'


@pytest.fixture(scope="session")
def forked() -> Iterator[Any]:
    with open_kernels("forked") as manager:
        yield manager


@pytest.fixture
def kernels_shared(forked: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let whatever opens kernels of its own use those that all tests share."""
    monkeypatch.setattr(kernels, "open_kernels", lambda make=None: contextlib.nullcontext(forked))


@pytest.fixture(scope="session")
def plain() -> Iterator[Any]:
    with open_kernels("plain") as manager:
        yield manager


@pytest.fixture(scope="session")
def notebook() -> Callable[..., Any]:
    """Give a maker of notebooks: a parameters cell, then a cell for each source."""

    def make(*sources: str, parameters: str | None = PARAMETERS) -> Any:
        v4 = load("nbformat").v4
        cells = [v4.new_code_cell(source, id=f"cell-{n}") for n, source in enumerate(sources)]
        if parameters is not None:
            cell = v4.new_code_cell(parameters, id="parameters")
            cell.metadata["tags"] = ["parameters"]
            cells.insert(0, cell)
        return v4.new_notebook(cells=cells)

    return make


@pytest.fixture(scope="session")
def written(
    notebook: Callable[..., Any], tmp_path_factory: pytest.TempPathFactory
) -> Callable[..., Path]:
    """Give a writer of notebooks to files, each in a folder of its own."""

    def write(name: str, *sources: str, **options: Any) -> Path:
        path = tmp_path_factory.mktemp("books") / f"{name}.ipynb"
        path.write_text(load("nbformat").writes(notebook(*sources, **options)), encoding="utf-8")
        return path

    return write


@pytest.fixture(scope="session")
def comes_true() -> Callable[[Callable[[], bool]], bool]:
    """Give a function that waits for something to be so, not for ever."""

    def wait(question: Callable[[], bool]) -> bool:
        end = time.monotonic() + SECONDS_TO_COME_TRUE
        while time.monotonic() < end and not question():
            time.sleep(0.05)
        return question()

    return wait


@pytest.fixture(scope="session")
def gone() -> Callable[[int], bool]:
    """Give a function that tells whether a process has ended, waited for by its parent or not."""

    def look(process: int) -> bool:
        try:
            state = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0]
        except (FileNotFoundError, ProcessLookupError):
            return True
        return state == "Z"

    return look
