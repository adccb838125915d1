"""The slow import that no notebook needs is left out, and nothing else is changed."""

from __future__ import annotations

import subprocess
import sys


def run(code: str) -> str:
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_the_unused_parsers_are_not_built() -> None:
    code = "import sys\nfrom workbench.runs.notebook_libraries import load, UNUSED\n"
    assert run(code + "load('papermill')\nprint(UNUSED in sys.modules)") == "False"


def test_they_can_still_be_imported_by_who_needs_them() -> None:
    code = "from workbench.runs.notebook_libraries import load\nload('nbformat')\n"
    assert run(code + "import rfc3987_syntax; print(rfc3987_syntax.__name__)") == "rfc3987_syntax"


def test_notebooks_are_still_validated() -> None:
    code = (
        "from workbench.runs.notebook_libraries import load\n"
        "nbformat = load('nbformat')\n"
        "book = {'nbformat': 4, 'nbformat_minor': 5, 'cells': [], 'metadata': 3}\n"
        "try:\n    nbformat.validate(book)\n"
        "except nbformat.ValidationError as error:\n    print('refused')"
    )
    assert run(code) == "refused"
