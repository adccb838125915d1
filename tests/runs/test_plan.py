"""Which notebook runs with what: once a claim where it is for one claim, under harmless names."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.errors import RunError
from workbench.runs.parameters import (
    BlockParameters,
    ClaimParameters,
    RecordsParameters,
    SummaryParameters,
)
from workbench.runs.plan import (
    NAME_LENGTH,
    Job,
    Notebook,
    make_plan,
    parameters_stated,
    with_file_names,
)

CLAIM = 'study = "../data/demo"\nseed = 1\nclaim = "deck-thicker"'


@pytest.fixture
def books(written: Callable[..., Path]) -> list[Notebook]:
    return [
        Notebook(
            path=written("claim", parameters=CLAIM),
            model=ClaimParameters,
            title="Claim",
            each_claim=True,
        ),
        Notebook(path=written("summary"), model=SummaryParameters, title="Summary"),
    ]


def test_the_claim_notebook_runs_once_for_each_claim(books: list[Notebook]) -> None:
    jobs = make_plan(books, ["a", "007"], study="s", seed=5)
    assert [(job.name, job.notebook, job.claim) for job in jobs] == [
        ("claim-a", "claim", "a"),
        ("claim-007", "claim", "007"),
        ("summary", "summary", None),
    ]
    assert [job.title for job in jobs] == ["Claim a", "Claim 007", "Summary"]
    assert jobs[1].parameters == {"study": "s", "seed": 5, "claim": "007"}
    assert jobs[2].parameters == {"study": "s", "seed": 5}


def test_what_shows_claims_is_left_out_where_there_are_none(written: Callable[..., Path]) -> None:
    books = [
        Notebook(
            path=written("claim", parameters=CLAIM),
            model=ClaimParameters,
            title="C",
            each_claim=True,
        ),
        Notebook(path=written("summary"), model=SummaryParameters, title="S", needs_claims=True),
        Notebook(path=written("records"), model=RecordsParameters, title="R"),
    ]
    assert [job.name for job in make_plan(books, [], study="s", seed=5)] == ["records"]
    for name in ("claim", "summary"):
        with pytest.raises(RunError, match=f"“{name}” shows claims, and the study states none"):
            make_plan(books, [], study="s", seed=5, only=[name])


def test_a_notebook_of_blocks_runs_once_for_each_block(written: Callable[..., Path]) -> None:
    parameters = 'study = "../data/demo"\nseed = 1\nblock = ""'
    path = written("block", parameters=parameters)
    book = Notebook(path=path, model=BlockParameters, title="Block", each_block=True)
    jobs = make_plan([book], ["a"], study="s", seed=5, blocks=["W05", "../W 7"])
    assert [(job.name, job.title, job.claim) for job in jobs] == [
        ("block-W05", "Block W05", None),
        ("block--W-7", "Block ../W 7", None),
    ]
    assert jobs[1].parameters == {"study": "s", "seed": 5, "block": "../W 7"}
    assert make_plan([book], ["a"], study="s", seed=5) == ()


def test_a_study_without_claims_runs_the_others(books: list[Notebook]) -> None:
    assert [job.name for job in make_plan(books, [], study="s", seed=5)] == ["summary"]


@pytest.mark.parametrize(
    ("only", "names"),
    [
        ((), ["claim-a", "claim-b", "summary"]),
        (("claim",), ["claim-a", "claim-b"]),
        (("b",), ["claim-b"]),
        (("summary",), ["summary"]),
        (("summary", "a"), ["claim-a", "summary"]),
        (("b", "claim", "b"), ["claim-a", "claim-b"]),
    ],
)
def test_some_can_be_asked_for(
    books: list[Notebook], only: tuple[str, ...], names: list[str]
) -> None:
    jobs = make_plan(books, ["a", "b"], study="s", seed=5, only=only)
    assert [job.name for job in jobs] == names


def test_an_unknown_one_is_refused(books: list[Notebook]) -> None:
    message = "no notebook and no claim 'c'; the notebooks are claim, summary, the claims a, b"
    with pytest.raises(RunError, match=message):
        make_plan(books, ["a", "b"], study="s", seed=5, only=["a", "c"])


def test_further_parameters_reach_their_notebook_or_are_refused(books: list[Notebook]) -> None:
    jobs = make_plan(books, ["a"], study="s", seed=5, parameters={"summary": {"seed": 9}})
    assert [job.parameters["seed"] for job in jobs] == [5, 9]
    with pytest.raises(RunError, match="no notebook 'sumary'; there are claim, summary"):
        make_plan(books, ["a"], study="s", seed=5, parameters={"sumary": {}})
    with pytest.raises(RunError, match="Notebook summary was not started: it has no parameter"):
        make_plan(books, ["a"], study="s", seed=5, parameters={"summary": {"sead": 9}})


def test_a_notebook_that_does_not_agree_with_its_model_is_refused(
    written: Callable[..., Path],
) -> None:
    book = Notebook(path=written("summary"), model=ClaimParameters, title="")
    with pytest.raises(RunError, match=r"Notebook summary was not started: .*'claim' is missing"):
        make_plan([book], [], study="s", seed=5)


def test_what_is_no_notebook_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "book.ipynb"
    book = Notebook(path=path, model=SummaryParameters, title="")
    with pytest.raises(RunError, match=r"There is no notebook at .*book\.ipynb"):
        make_plan([book], [], study="s", seed=5)
    for text in (
        "",
        "{",
        "[]",
        '{"cells": 3}',
        '{"nbformat": 4, "nbformat_minor": 5, "cells": 3}',
        "\udcff",
    ):
        path.write_text(text, encoding="utf-8", errors="surrogateescape")
        with pytest.raises(RunError, match=r"book\.ipynb cannot be read as a notebook"):
            make_plan([book], [], study="s", seed=5)


def named(names: list[str]) -> list[Job]:
    jobs = [
        Job(name=name, title="", notebook="", claim=None, parameters={}, source=None)
        for name in names
    ]
    return list(with_file_names(jobs))


@given(st.lists(st.text(max_size=80), max_size=8))
def test_every_job_gets_a_file_name_of_its_own(names: list[str]) -> None:
    found = [job.name for job in named(names)]
    assert len({name.lower() for name in found}) == len(names)
    for name in found:
        assert re.fullmatch(r"[A-Za-z0-9_-]+", name)
        assert len(name) <= NAME_LENGTH + 3


def test_names_that_differ_in_case_or_signs_stay_apart() -> None:
    names = ["claim-a", "claim-A", "claim-a!", "../../etc/passwd", "  ", "claim-µ"]
    assert [job.name for job in named(names)] == [
        "claim-a",
        "claim-A-2",
        "claim-a-3",
        "etc-passwd",
        "notebook",
        "claim",
    ]


def test_parameters_are_set_for_one_notebook(books: list[Notebook]) -> None:
    assert parameters_stated(books, [], []) == {}
    assert parameters_stated(books, ["summary", "a"], ["x=1"]) == {"summary": {"x": "1"}}
    with pytest.raises(RunError, match="named by --only; the notebooks are claim, summary"):
        parameters_stated(books, ["a"], ["x=1"])
    with pytest.raises(RunError, match="set for one notebook"):
        parameters_stated(books, ["summary", "claim"], ["x=1"])
