"""A notebook's failure is told in words, with its cell; what papermill adds is taken out."""

from __future__ import annotations

import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from workbench.runs.execute import Executed, execute, first_line
from workbench.runs.jobs import close_loop
from workbench.runs.notebook_libraries import load

HOSTILE = [
    'it\'s "quoted"',
    "back\\slash\\",
    'ends with \\"',
    "line\nbreak\r\nand\ttab",
    '"; import os; os.abort(); "',
    "'''\"\"\"\n#",
    "{seed} %s \\N{BULLET} \\x41 \\u0041",
    "naïve µ × 12 mm \u202e\u2028 \U0001f600",
    "\x00\x1b[31m\x7f",
    "<script>alert(1)</script>",
]


def run(book: Any, manager: Any, folder: Path, seconds: float = 60, **given: Any) -> Executed:
    def task() -> Executed:
        try:
            return execute(
                "book", book, given or {"seed": 1}, manager=manager, folder=folder, seconds=seconds
            )
        finally:
            close_loop()

    with ThreadPoolExecutor(1) as pool:
        return pool.submit(task).result()


def test_parameters_arrive_as_they_were_given(
    forked: Any, notebook: Callable[..., Any], tmp_path: Path
) -> None:
    given = {"texts": HOSTILE, "number": 7, "ratio": 0.1, "flag": True, "nothing": None}
    given |= {f"text_{n}": text for n, text in enumerate(HOSTILE)}
    look = "({'texts': texts, 'number': number, 'ratio': ratio, 'flag': flag, 'nothing': nothing}"
    look += " | {f'text_{n}': globals()[f'text_{n}'] for n in range(len(texts))})"
    done = run(notebook(f"print(ascii({look}))"), forked, tmp_path, **given)
    assert done.failure is None
    assert eval(done.notebook.cells[-1].outputs[0].text) == given


def test_a_failing_cell_is_named_and_the_notebook_kept(
    forked: Any, notebook: Callable[..., Any], tmp_path: Path
) -> None:
    done = run(notebook("1 + 1", "\nlength = 3\nlength / 0", "2"), forked, tmp_path)
    assert done.failure is not None
    assert done.failure.line() == (
        "Notebook book failed in cell 4 (length = 3): ZeroDivisionError: division by zero"
    )
    sources = [cell.source for cell in done.notebook.cells]
    assert sources[2:] == ["1 + 1", "\nlength = 3\nlength / 0", "2"]
    assert done.notebook.cells[2].outputs[0]["data"]["text/plain"] == "2"
    assert done.notebook.cells[3].outputs[0]["ename"] == "ZeroDivisionError"
    assert done.notebook.cells[4].outputs == []


def test_a_cell_that_cannot_be_parsed_is_named(
    forked: Any, notebook: Callable[..., Any], tmp_path: Path
) -> None:
    done = run(notebook("def f(:"), forked, tmp_path)
    assert done.failure is not None
    assert done.failure.cell == 3
    assert done.failure.reason.startswith("SyntaxError: invalid syntax")


def test_the_time_is_that_of_the_whole_notebook(
    forked: Any, notebook: Callable[..., Any], tmp_path: Path
) -> None:
    cells = ["import time; time.sleep(0.6)", "time.sleep(0.6)", "time.sleep(0.6)"]
    begun = time.monotonic()
    done = run(notebook(*cells), forked, tmp_path, seconds=1)
    assert time.monotonic() - begun < 10
    assert done.failure is not None
    assert done.failure.cell == 4
    assert done.failure.reason == "it was not done within the 1 s a notebook may take"


def test_an_endless_loop_ends(forked: Any, notebook: Callable[..., Any], tmp_path: Path) -> None:
    done = run(notebook("print('begun')", "while True: pass"), forked, tmp_path, seconds=0.5)
    assert done.failure is not None
    assert done.failure.code == "while True: pass"
    assert done.notebook.cells[2].outputs[0].text == "begun\n"


@pytest.mark.parametrize("make", ["forked", "plain"])
def test_a_dead_kernel_is_told(
    make: str, request: pytest.FixtureRequest, notebook: Callable[..., Any], tmp_path: Path
) -> None:
    book = notebook("print('begun')", "import os, signal; os.kill(os.getpid(), signal.SIGKILL)")
    done = run(book, request.getfixturevalue(make), tmp_path)
    assert done.failure is not None
    assert done.failure.cell == 4
    assert done.failure.reason.startswith("its kernel died")


def test_the_given_notebook_is_left_as_it_was(
    forked: Any, notebook: Callable[..., Any], tmp_path: Path
) -> None:
    book = notebook("1")
    before = load("nbformat").writes(book)
    run(book, forked, tmp_path)
    assert load("nbformat").writes(book) == before


def test_two_runs_give_the_same_bytes(
    forked: Any, notebook: Callable[..., Any], tmp_path: Path
) -> None:
    book = notebook("import matplotlib.pyplot as plt", "plt.plot([1, 2]);", "object.__doc__")
    texts = {load("nbformat").writes(run(book, forked, tmp_path).notebook) for _ in range(2)}
    assert len(texts) == 1
    assert "papermill" not in texts.pop()


def test_the_first_line_is_one_a_person_can_read() -> None:
    assert first_line("\n\x1b[31m  red\x1b[0m \nmore") == "red"
    assert first_line("a\x07b\u202ec") == "a b c"
    assert first_line("") == ""
    assert len(first_line("x" * 10_000)) == 200
