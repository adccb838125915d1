"""What is committed holds no outputs; the check says which notebook does."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from workbench.runs.execute import INJECTED
from workbench.runs.notebook_libraries import load
from workbench.runs.places import shipped
from workbench.runs.strip import holds_outputs, main, strip


@pytest.fixture
def executed(written: Callable[..., Path]) -> Path:
    path = written("book", "1 + 1", "2 + 2")
    nbformat = load("nbformat")
    book = nbformat.read(path, as_version=4)
    injected = nbformat.v4.new_code_cell("seed = 2", id="x", metadata={"tags": [INJECTED]})
    book.cells.insert(1, injected)
    book.cells[2].outputs = [nbformat.v4.new_output("stream", text="2")]
    book.cells[3].execution_count = 3
    book.cells[3].metadata["execution"] = {"iopub.status.idle": "2026-01-01T00:00:00Z"}
    book.metadata["papermill"] = {"duration": 3}
    path.write_text(nbformat.writes(book), encoding="utf-8")
    return path


def test_outputs_are_found_and_stripped(executed: Path, written: Callable[..., Path]) -> None:
    assert holds_outputs(executed)
    assert strip(executed)
    assert not holds_outputs(executed)
    assert not strip(executed)
    nbformat = load("nbformat")
    bare = nbformat.read(executed, as_version=4)
    assert bare == nbformat.read(written("same", "1 + 1", "2 + 2"), as_version=4)


@pytest.mark.parametrize(
    ("place", "key", "value"),
    [
        ("cell", "execution_count", 1),
        ("cell", "outputs", [{"output_type": "stream", "name": "stdout", "text": "1"}]),
        ("cell metadata", "execution", {}),
        ("metadata", "papermill", {}),
    ],
)
def test_each_trace_is_found(
    place: str, key: str, value: Any, written: Callable[..., Path]
) -> None:
    path = written("book", "1")
    assert not holds_outputs(path)
    book = json.loads(path.read_text())
    cell = book["cells"][1]
    {"cell": cell, "cell metadata": cell["metadata"], "metadata": book["metadata"]}[place][key] = (
        value
    )
    path.write_text(json.dumps(book))
    assert holds_outputs(path)


def test_the_command_checks_then_strips(executed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = [str(executed.parent)]
    before = executed.read_bytes()
    assert main([*folder, "--check"]) == 1
    assert capsys.readouterr().out == f"{executed} holds outputs\n"
    assert executed.read_bytes() == before
    assert main([*folder, "--write"]) == 0
    assert capsys.readouterr().out == f"{executed} was stripped\n"
    assert main([*folder, "--check"]) == 0
    assert capsys.readouterr().out == ""


def test_a_notebook_only_opened_and_saved_passes_the_check(tmp_path: Path) -> None:
    nbformat = load("nbformat")
    shown = shipped("notebooks") / "summary.ipynb"
    book = nbformat.read(shown, as_version=4)
    book.metadata["language_info"]["version"] = "3.11.7"
    book.cells[0].metadata["editable"] = True
    saved = tmp_path / shown.name
    saved.write_text(nbformat.writes(book) + "\n", "utf-8")
    assert main([str(saved), "--check"]) == 0
    assert strip(saved)
    assert saved.read_bytes() == shown.read_bytes()


def test_the_copies_an_editor_keeps_are_left_alone(executed: Path) -> None:
    copies = executed.parent / ".ipynb_checkpoints"
    copies.mkdir()
    executed.rename(copies / "book-checkpoint.ipynb")
    assert main([str(executed.parent), "--check"]) == 0


def test_a_shipped_notebook_saved_and_stripped_is_the_file_it_was(tmp_path: Path) -> None:
    """As an editor saves it after a run: its own head, outputs, counts, state of view."""
    nbformat = load("nbformat")
    for path in sorted(shipped("notebooks").glob("*.ipynb")):
        book = nbformat.read(path, as_version=4)
        book.metadata["language_info"].update(version="3.11.7", file_extension=".py")
        for number, cell in enumerate(book.cells):
            cell.metadata["editable"] = True
            if cell.cell_type == "code":
                cell.outputs = [nbformat.v4.new_output("stream", text="1")]
                cell.execution_count = number
        saved = tmp_path / path.name
        saved.write_text(nbformat.writes(book) + "\n", "utf-8")
        assert strip(saved)
        assert saved.read_bytes() == path.read_bytes(), path.name


def test_the_shipped_notebooks_hold_no_outputs() -> None:
    assert main(["--check"]) == 0
