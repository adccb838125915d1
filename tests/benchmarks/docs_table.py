"""A table that a command makes, put into DEVELOPERS.md between its two marks."""

from __future__ import annotations

import re
from pathlib import Path

PAGE = Path(__file__).parents[2] / "DEVELOPERS.md"


def renewed(text: str, name: str, table: str) -> str:
    """Give a page with `table` between `<!-- name -->` and `<!-- end -->`.

    Raises `ValueError` where the page has not just one such place.
    """
    answer, places = re.subn(
        rf"<!-- {re.escape(name)} -->\n.*?<!-- end -->",
        lambda _: f"<!-- {name} -->\n{table}\n<!-- end -->",
        text,
        flags=re.DOTALL,
    )
    if places != 1:
        raise ValueError(f"DEVELOPERS.md has {places} places named “{name}”, not one")
    return answer


def put(name: str, table: str) -> None:
    """Write `table` into its place."""
    PAGE.write_text(renewed(PAGE.read_text("utf-8"), name, table), encoding="utf-8")
