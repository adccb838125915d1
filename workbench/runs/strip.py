"""Notebooks without outputs: what is committed holds no numbers, only the code that makes them."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from workbench.runs.execute import INJECTED, without_marks
from workbench.runs.notebook_libraries import load
from workbench.runs.places import shipped

KEPT = "tags"
CHECKPOINTS = ".ipynb_checkpoints"  # copies an editor keeps beside the notebooks


def without_outputs(notebook: Any) -> Any:
    """Give a copy of `notebook` without outputs, counts, injected cells and traces of a run."""
    result = without_marks(notebook)
    result.cells = [cell for cell in result.cells if INJECTED not in cell.metadata.get("tags", [])]
    for cell in result.cells:
        if cell.cell_type == "code":
            cell.outputs = []
            cell.execution_count = None
    return result


def stripped(notebook: Any) -> Any:
    """Give a copy without outputs, and without what an editor leaves of itself.

    That is the version of the language at the head and the state of view in the cells: no numbers,
    so the check lets it pass, but a notebook opened, run, saved and stripped is the file it was.
    """
    result = without_outputs(notebook)
    if "language_info" in result.metadata:
        result.metadata["language_info"] = {"name": result.metadata["language_info"]["name"]}
    for cell in result.cells:
        cell.metadata = {key: value for key, value in cell.metadata.items() if key == KEPT}
    return result


def holds_outputs(path: Path) -> bool:
    """Tell whether a notebook file holds what `without_outputs` takes out."""
    notebook = load("nbformat").read(path, as_version=4)
    return bool(without_outputs(notebook) != notebook)


def strip(path: Path) -> bool:
    """Strip a notebook file in place; tells whether there was anything to strip."""
    nbformat = load("nbformat")
    notebook = nbformat.read(path, as_version=4)
    bare = stripped(notebook)
    if bare == notebook:
        return False
    path.write_text(nbformat.writes(bare) + "\n", encoding="utf-8")
    return True


def found(paths: Iterable[Path]) -> list[Path]:
    """Give the notebooks among `paths` and in the folders among them, no editor's copies."""
    files: list[Path] = []
    for path in paths:
        inside = sorted(path.rglob("*.ipynb")) if path.is_dir() else [path]
        files += [one for one in inside if CHECKPOINTS not in one.relative_to(path).parts]
    return files


def main(arguments: Sequence[str] | None = None) -> int:
    """Look, or with --write strip; exit code 1 when a notebook holds outputs still."""
    parser = argparse.ArgumentParser(prog="python -m workbench.runs.strip", description=__doc__)
    parser.add_argument("paths", nargs="*", type=Path, help="notebooks or folders of them")
    action = parser.add_mutually_exclusive_group()
    action.add_argument("--check", action="store_true", help="change nothing (what is done anyway)")
    action.add_argument("--write", action="store_true", help="strip the files")
    asked = parser.parse_args(arguments)
    act = strip if asked.write else holds_outputs
    touched = [path for path in found(asked.paths or [shipped("notebooks")]) if act(path)]
    for path in touched:
        print(f"{path} {'was stripped' if asked.write else 'holds outputs'}")
    return 1 if touched and not asked.write else 0


if __name__ == "__main__":
    sys.exit(main())
