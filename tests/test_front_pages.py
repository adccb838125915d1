"""One page tells a newcomer where everything is: the package lists its rooms, a room its modules.

The docstring of each `__init__.py` is made from the first lines of what it lists.
`uv run python tests/test_front_pages.py` writes the pages anew.
"""

from __future__ import annotations

import ast
import textwrap
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "workbench"


def first_line(path: Path) -> str:
    docstring = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
    assert docstring, f"{path} has no docstring"
    return docstring.splitlines()[0]


def pages() -> list[Path]:
    return sorted(path for path in PACKAGE.rglob("__init__.py") if "_shipped" not in path.parts)


def listing(page: Path) -> str:
    """Give what a page must list: its rooms in the order data flows, then its modules."""
    folder = page.parent
    rooms = [path for path in pages() if path.parent.parent == folder]
    modules = [path for path in sorted(folder.glob("*.py")) if path != page]
    lines = []
    if rooms:
        lines += ["Rooms:", ""]
        lines += [entry(f"{path.parent.name}/", path) for path in ordered(rooms)]
    if modules:
        lines += [""] * bool(lines) + ["Modules:", ""]
        lines += [entry(path.name, path) for path in ordered(modules)]
    return "\n".join(lines)


def entry(name: str, path: Path) -> str:
    return textwrap.fill(f"- `{name}`: {first_line(path)}", 100, subsequent_indent="  ")


def ordered(paths: list[Path]) -> list[Path]:
    """Sort by the way data flows at the top of the house, by name elsewhere."""
    flow = (
        *("errors", "records", "inference", "castings", "claims", "worth"),
        *("study", "article", "runs", "cli"),
    )

    def place(path: Path) -> tuple[int, str]:
        is_room = path.name == "__init__.py"
        name = path.parent.name if is_room else path.stem
        above = path.parent.parent if is_room else path.parent
        return (flow.index(name) if above == PACKAGE else 0, name)

    return sorted(paths, key=place)


def renewed(page: Path) -> str:
    """Give the page with its list made anew; its first line and its code stay."""
    text = page.read_text(encoding="utf-8")
    tree = ast.parse(text)
    head = tree.body[0]
    assert isinstance(head, ast.Expr)
    assert head.end_lineno is not None
    code = "\n".join(text.splitlines()[head.end_lineno :])
    docstring = f'"""{first_line(page)}\n\n{listing(page)}\n"""\n'
    return docstring + (f"{code.rstrip()}\n" if code.strip() else "")


@pytest.mark.parametrize("page", pages(), ids=lambda page: str(page.parent.relative_to(PACKAGE)))
def test_page_lists_what_is_there(page: Path) -> None:
    docstring = ast.get_docstring(ast.parse(page.read_text(encoding="utf-8")))
    assert docstring is not None
    assert docstring.split("\n\n", 1)[1] == listing(page)


if __name__ == "__main__":
    for found in pages():
        found.write_text(renewed(found), encoding="utf-8")
