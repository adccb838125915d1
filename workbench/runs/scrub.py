"""Outputs without the traces of one run: folders of this machine and numbers of processes."""

from __future__ import annotations

import copy
import re
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

# a cell's code has a file name with the number of its process: ipykernel_4711/1234567.py
CELL_FILE = re.compile(r"ipykernel_\d+[/\\](\d+)\.py")
TEXTS = ("text/plain", "text/html", "text/markdown", "text/latex")
SHORTEST = 4  # a folder such as / or /tmp says nothing of a machine


def scrubbed(notebook: Any, places: Mapping[Path, str]) -> Any:
    """Give a copy of `notebook` whose outputs call the folders in `places` by their given names."""
    result = copy.deepcopy(notebook)
    names = folder_names(places)
    for cell in result.cells:
        for output in cell.get("outputs", []):
            scrub_output(output, names)
    return result


def folder_names(places: Mapping[Path, str]) -> dict[str, str]:
    """Add the folders of the package and of Python; the longest first, as one may hold another."""
    package = Path(__file__).resolve().parents[2]
    every = {
        **places,
        package: "workbench",
        Path(sys.prefix): "python",
        Path(sys.base_prefix): "python",
        Path.home(): "~",
    }
    named = {str(place): name for place, name in every.items() if len(str(place)) > SHORTEST}
    return dict(sorted(named.items(), key=lambda item: -len(item[0])))


def scrub_output(output: Any, names: Mapping[str, str]) -> None:
    """Scrub the texts of one output in place."""
    for key in ("text", "evalue"):
        if key in output:
            output[key] = scrub_text(output[key], names)
    if "traceback" in output:
        output["traceback"] = [scrub_text(line, names) for line in output["traceback"]]
    for kind in TEXTS:
        if kind in output.get("data", {}):
            output["data"][kind] = scrub_text(output["data"][kind], names)


def scrub_text(text: str, names: Mapping[str, str]) -> str:
    """Scrub one text."""
    text = CELL_FILE.sub(r"cell_\1.py", text)
    for folder, name in names.items():
        if folder in text:
            literal = name.replace("\\", r"\\")
            text = re.sub(rf"(?<![\w/.-]){re.escape(folder)}(?![\w-])", literal, text)
    return text
