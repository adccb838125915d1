"""No trace of one run or one machine stays in an output."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from workbench.runs.notebook_libraries import load
from workbench.runs.scrub import folder_names, scrub_text, scrubbed

PLACES = {Path("/home/ann/out/.partial-1"): "report", Path("/home/ann/out"): "report"}


def scrub(text: str) -> str:
    return scrub_text(text, folder_names(PLACES))


def test_folders_are_called_by_their_names() -> None:
    assert scrub("wrote /home/ann/out/.partial-1/x.csv") == "wrote report/x.csv"
    assert scrub("'/home/ann/out'") == "'report'"
    assert scrub(f"{sys.prefix}/lib/x.py") == "python/lib/x.py"
    assert scrub(f"{Path.home()}/x") == "~/x"


def test_what_only_begins_alike_is_left() -> None:
    for text in ("/home/ann/outer/x", "/home/ann/out-2/x", "/mnt/home/ann/out/x", "A/home/ann/out"):
        assert scrub(text) == text


def test_the_number_of_a_process_is_taken_out() -> None:
    assert (
        scrub("tmp/ipykernel_4711/123.py:3: UserWarning: x") == "tmp/cell_123.py:3: UserWarning: x"
    )


def test_a_name_is_taken_as_it_is() -> None:
    names = folder_names({Path("/home/ann/study"): r"a\1\g<0>"})
    assert scrub_text("/home/ann/study/x", names) == r"a\1\g<0>/x"


def test_a_long_text_without_spaces_takes_no_time() -> None:
    text = "ipykernel_" + "/A" * 500_000
    assert scrub(text) == text


def test_every_text_of_an_output_is_scrubbed_and_the_notebook_left(
    notebook: Callable[..., Any],
) -> None:
    v4 = load("nbformat").v4
    book, place = notebook("1"), "/home/ann/out/x"
    data = {"text/plain": place, "text/html": f"<p>{place}</p>", "image/png": "/home/ann/out/AAAA"}
    book.cells[1].outputs = [
        v4.new_output("stream", text=place),
        v4.new_output("display_data", data=data),
        v4.new_output("error", ename="E", evalue=place, traceback=[place, place]),
    ]
    before = load("nbformat").writes(book)
    stream, shown, error = scrubbed(book, PLACES).cells[1].outputs
    assert stream.text == error.evalue == error.traceback[1] == "report/x"
    assert shown.data["text/html"] == "<p>report/x</p>"
    assert shown.data["image/png"] == data["image/png"]
    assert load("nbformat").writes(book) == before
