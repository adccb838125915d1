"""Data flows one way: a module imports from its own room and from rooms above it, never below."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "workbench"
ORDER = (
    "errors",
    "records",
    "inference",
    "castings",
    "claims",
    "worth",
    "study",
    "article",
    "runs",
    "cli",
)


def room_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def rooms_imported(path: Path) -> list[tuple[int, str]]:
    found: list[tuple[int, str]] = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: relative import"
            names = [node.module or ""]
            if node.module == "workbench":
                names = [f"workbench.{alias.name}" for alias in node.names]
        found += [
            (node.lineno, name.split(".")[1]) for name in names if name.startswith("workbench.")
        ]
    return found


def modules() -> list[Path]:
    return sorted(path for path in PACKAGE.rglob("*.py") if "_shipped" not in path.parts)


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_point_upwards_only(path: Path) -> None:
    room = room_of(path)
    if room == "__init__":
        assert rooms_imported(path) == [], "the front page opens no room by itself"
        return
    for line, imported in rooms_imported(path):
        assert ORDER.index(imported) <= ORDER.index(room), (
            f"{path.relative_to(PACKAGE)}:{line} imports {imported}, which lies below {room}"
        )


def test_inference_knows_no_records() -> None:
    for path in (PACKAGE / "inference").rglob("*.py"):
        assert {room for _, room in rooms_imported(path)} <= {"inference", "errors"}, path


def test_top_level_holds_only_what_was_agreed() -> None:
    import subprocess

    listed = subprocess.run(
        ["git", "ls-files"], cwd=PACKAGE.parent, capture_output=True, text=True, check=False
    )
    if listed.returncode != 0:  # an unpacked archive has no git; its folders are then looked at
        names = {path.name for path in PACKAGE.parent.iterdir()}
    else:
        names = {line.split("/")[0] for line in listed.stdout.splitlines()}
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "workbench", "notebooks", "data"}
    assert {name for name in names if not name.startswith(".")} <= allowed | {"tests"}
