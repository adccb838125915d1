"""The tables of the documents are those kept, and are put where they belong."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

import cost_curves  # noqa: E402
import docs_table  # noqa: E402
import peers  # noqa: E402


@pytest.mark.parametrize("made", [peers, cost_curves])
def test_the_table_in_the_documents_is_the_one_kept(made: Any) -> None:
    text = docs_table.PAGE.read_text("utf-8")
    assert docs_table.renewed(text, made.MARK, made.table()) == text


def test_every_row_kept_is_still_measured_and_has_its_spread() -> None:
    names = [name for name, *_ in peers.ROWS]
    assert len(set(names)) == len(names)
    for row in peers.kept():
        assert row["row"] in names
        assert float(row["ratio_least"]) <= float(row["ratio"]) <= float(row["ratio_greatest"])


def test_a_table_goes_between_its_marks_and_nowhere_else() -> None:
    page = "before\n<!-- a -->\nold\n<!-- end -->\nafter\n"
    assert docs_table.renewed(page, "a", "new") == page.replace("old", "new")
    for places, text in ((0, "none"), (2, page + page)):
        with pytest.raises(ValueError, match=f"{places} places named “a”"):
            docs_table.renewed(text, "a", "new")
