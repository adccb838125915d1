"""A misspelt or wrongly typed parameter is refused in words, before anything runs."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from workbench.errors import RunError
from workbench.runs.parameters import (
    ClaimParameters,
    FitsParameters,
    StudyParameters,
    SummaryParameters,
    ThinSpotsParameters,
    check_cell,
    checked,
    stated,
)

GIVEN = {"study": "demo", "seed": 1, "claim": "007"}


def test_good_parameters_pass_unchanged_and_in_the_order_of_the_model() -> None:
    values = checked("claim", ClaimParameters, dict(reversed(GIVEN.items())))
    assert list(values.items()) == list(GIVEN.items())
    assert type(values["claim"]) is str


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"claims": "x"}, "it has no parameter 'claims'; it takes study, seed, claim"),
        ({"claim": 7}, r"parameter 'claim': input should be a valid string, not 7 \(int\)"),
        ({"claim": ""}, r"'claim': string should have at least 1 character, not '' \(str\)"),
        ({"seed": "1"}, r"'seed': input should be a valid integer, not '1' \(str\)"),
        ({"seed": True}, r"'seed': input should be a valid integer, not True \(bool\)"),
        ({"seed": 1.0}, r"'seed': input should be a valid integer, not 1.0 \(float\)"),
        ({"seed": np.int64(3)}, r"'seed': input should be a valid integer"),
        ({"seed": Decimal(3)}, r"'seed': input should be a valid integer"),
        ({"seed": -1}, r"'seed': input should be greater than or equal to 0, not -1"),
        ({"seed": None}, r"'seed': input should be a valid integer, not None"),
        ({"study": Path("demo")}, r"'study': input should be a valid string, not PosixPath"),
        ({"study": "x" * 5000}, r"'study': string should have at most 4096 characters, not 'xxx"),
    ],
)
def test_a_bad_parameter_is_refused(change: dict[str, Any], message: str) -> None:
    with pytest.raises(RunError, match=message) as caught:
        checked("claim", ClaimParameters, GIVEN | change)
    assert str(caught.value).startswith("Notebook claim was not started: ")
    assert len(str(caught.value)) < 300


def test_all_faults_are_told_at_once() -> None:
    with pytest.raises(RunError) as caught:
        checked("claim", ClaimParameters, {"study": 1, "sead": 2})
    for part in ("'study'", "'sead'", "'seed' is missing", "'claim' is missing"):
        assert part in str(caught.value)


@pytest.mark.parametrize(
    ("model", "cell"),
    [
        (StudyParameters, 'study = "../data/demo"\nseed = 1'),
        (SummaryParameters, '# a comment\nstudy: str = "../data/demo"  # another\nseed: int = 1'),
        (ClaimParameters, 'study = "s"\nseed = 1\nclaim = "007"'),
    ],
)
def test_a_cell_that_agrees_passes(
    model: type[StudyParameters], cell: str, notebook: Callable[..., Any]
) -> None:
    check_cell("book", notebook(parameters=cell), model)


@pytest.mark.parametrize(
    ("cell", "message"),
    [
        (None, "has 0 cells with the tag 'parameters'"),
        ('study = "s"', "'seed' is missing"),
        ('study = "s"\nseed = 1\nclaim = "x"', "it has no parameter 'claim'"),
        ('study = "s"\nseed = "1"', "'seed': input should be a valid integer"),
        ('study = "s"\nseed = 1\nimport os', "line 3 does something else"),
        ('study = "s"\nseed = int(1)', "may only assign plain values"),
        ("study = seed = 1", "line 1 does something else"),
        ("study =", "may only assign plain values"),
        ("study: str\nseed = 1", "line 1 does something else"),
    ],
)
def test_a_cell_that_does_not_agree_is_refused(
    cell: str | None, message: str, notebook: Callable[..., Any]
) -> None:
    with pytest.raises(RunError, match=message):
        check_cell("book", notebook(parameters=cell), StudyParameters)


def test_two_cells_are_refused(notebook: Callable[..., Any]) -> None:
    book = notebook()
    book.cells.append(book.cells[0])
    with pytest.raises(RunError, match="has 2 cells with the tag 'parameters'; it must have one"):
        check_cell("book", book, StudyParameters)


def test_parameters_written_as_text_become_what_the_notebook_takes() -> None:
    items = ["quantity=deck_thickness", "limit=3.4", "families=works, 007"]
    found = stated("thin_spots", ThinSpotsParameters, items)
    assert found == {
        "quantity": "deck_thickness",
        "limit": 3.4,
        "families": ["works", "007"],
    }
    whole = checked("thin_spots", ThinSpotsParameters, {"study": "s", "seed": 1} | found)
    assert whole["families"] == ["works", "007"]
    assert stated("fits", FitsParameters, ["family=007", "quantity="]) == {
        "family": "007",
        "quantity": "",
    }


@pytest.mark.parametrize(
    ("items", "message"),
    [
        (["limit"], "'limit' of notebook thin_spots is not written NAME=VALUE"),
        (["limit=3", "limit=4"], "'limit=4' of notebook thin_spots is given twice"),
        (["limit=thin"], "parameter 'limit' of notebook thin_spots is a number, not 'thin'"),
    ],
)
def test_a_parameter_that_cannot_be_read_is_refused(items: list[str], message: str) -> None:
    with pytest.raises(RunError, match=message):
        stated("thin_spots", ThinSpotsParameters, items)


def test_an_unknown_or_endless_parameter_is_refused_as_any_other() -> None:
    for items, message in (
        (["colour=red"], "it has no parameter 'colour'"),
        (["limit=inf"], "parameter 'limit'"),
    ):
        values = {"study": "s", "seed": 1} | stated("thin_spots", ThinSpotsParameters, items)
        with pytest.raises(RunError, match=message):
            checked("thin_spots", ThinSpotsParameters, values)
