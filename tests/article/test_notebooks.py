"""The notebooks are thin, hold no outputs and no statistics, and run from top to bottom."""

from __future__ import annotations

import ast
import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import lxml.html
import nbformat
import pytest
from nbclient import NotebookClient

from workbench.errors import Refusal

NOTEBOOKS = Path(__file__).parents[2] / "notebooks"
NAMES = (
    "records",
    "measuring",
    "distributions",
    "fits",
    "thin_spots",
    "shift",
    "block",
    "intervals",
    "claim",
    "plan",
    "worth",
    "summary",
    "article",
)
OWN = {
    "claim": {"claim"},
    "block": {"block"},
    "plan": {"looks"},
    "fits": {"quantity", "family"},
    "thin_spots": {"quantity", "limit", "families"},
    "worth": {"duty"},
}
MOST_CELLS = 13
FORBIDDEN = {"numpy", "scipy", "statsmodels", "pandas", "math", "statistics", "matplotlib"}


def read(name: str) -> dict[str, Any]:
    notebook: dict[str, Any] = json.loads((NOTEBOOKS / f"{name}.ipynb").read_text("utf-8"))
    return notebook


def code_of(notebook: dict[str, Any]) -> list[str]:
    return ["".join(c["source"]) for c in notebook["cells"] if c["cell_type"] == "code"]


def run(name: str, monkeypatch: pytest.MonkeyPatch, **parameters: object) -> list[Any]:
    """Run the code of a notebook in its folder; give what its cells show, in order.

    The last expression of a cell is shown, as a kernel would, and what is passed to `display`.
    """
    monkeypatch.chdir(NOTEBOOKS)
    shown: list[Any] = []
    monkeypatch.setattr("IPython.display.display", shown.append)
    scope: dict[str, Any] = {}
    for number, source in enumerate(code_of(read(name))):
        tree = ast.parse(source)
        last = tree.body.pop() if isinstance(tree.body[-1], ast.Expr) else None
        exec(compile(tree, name, "exec"), scope)
        if isinstance(last, ast.Expr):
            value = eval(compile(ast.Expression(last.value), name, "eval"), scope)
            shown += [] if value is None else [value]
        if number == 0:
            scope.update(parameters)
    return shown


def test_all_notebooks_are_known() -> None:
    assert {path.stem for path in NOTEBOOKS.glob("*.ipynb")} == set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_a_notebook_is_thin_and_holds_no_outputs(name: str) -> None:
    notebook = read(name)
    assert (notebook["nbformat"], notebook["nbformat_minor"]) == (4, 5)
    cells = notebook["cells"]
    assert len(cells) <= MOST_CELLS
    ids = [cell["id"] for cell in cells]
    assert len(set(ids)) == len(ids)
    assert all(re.fullmatch(r"[a-z-]+", cell_id) for cell_id in ids)
    for cell in cells:
        if cell["cell_type"] == "code":
            assert cell["outputs"] == []
            assert cell["execution_count"] is None
            assert "".join(cell["source"]).count("\n") < 25
    assert "Cautions." in "".join(cells[-1]["source"])


@pytest.mark.parametrize("name", NAMES)
def test_the_parameters_cell_assigns_plain_values_that_name_the_demo(name: str) -> None:
    tagged = [c for c in read(name)["cells"] if "parameters" in c["metadata"].get("tags", [])]
    assert len(tagged) == 1
    tree = ast.parse("".join(tagged[0]["source"]))
    values = {
        statement.targets[0].id: ast.literal_eval(statement.value)  # type: ignore[attr-defined]
        for statement in tree.body
    }
    assert set(values) == {"study", "seed"} | OWN.get(name, set())
    assert (NOTEBOOKS / values["study"] / "study.toml").is_file()


@pytest.mark.parametrize("name", NAMES)
def test_a_notebook_imports_no_library_of_numbers(name: str) -> None:
    for source in code_of(read(name)):
        for node in ast.walk(ast.parse(source)):
            names = []
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            assert not {imported.split(".")[0] for imported in names} & FORBIDDEN
            assert not isinstance(node, ast.BinOp), "arithmetic belongs in the package"


def check(shown: list[Any]) -> str:
    """Hold every output to be harmless HTML with words; give all of it."""
    pages = []
    for output in shown:
        bundle = output._repr_mimebundle_()
        assert bundle["text/plain"].strip()
        page = lxml.html.fromstring(f"<div>{bundle['text/html']}</div>")
        assert not page.xpath("//script | //a | //i | //b")
        assert all(image.get("alt") for image in page.xpath("//img"))
        pages.append(page.text_content())
    return "\n".join(pages)


@pytest.mark.parametrize(
    ("name", "pictures"),
    [
        ("records", 2),
        ("measuring", 0),
        ("distributions", 6),
        ("fits", 1),
        ("thin_spots", 0),
        ("intervals", 2),
        ("plan", 0),
        ("worth", 0),
        ("summary", 1),
    ],
)
def test_a_notebook_shows_a_small_study(
    name: str, pictures: int, small_study: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (small_study / "claims.toml").write_text(CLAIMS, encoding="utf-8")
    shown = run(name, monkeypatch, study=str(small_study))
    text = check(shown)
    assert "A <b>small</b> study" in text
    assert sum("<img" in output._repr_mimebundle_()["text/html"] for output in shown) == pictures


CLAIMS = """\
[[claim]]
id = "deck"
statement = "Trophy <script>alert(1)</script> decks are $thicker$ by 1 mm."
heard_from = "<i>someone</i>"
quantity = "deck_thickness"
candidate = "trophy"
reference = "works"
direction = "greater"
margin = 1.0
unit = "mm"

[[claim]]
id = "walls"
statement = "Nobody read the walls."
quantity = "wall_thickness"
candidate = "trophy"
reference = "works"
direction = "greater"
unit = "mm"

[[claim]]
id = "broken"
statement = "The direction is missing."
quantity = "mass"
candidate = "trophy"
reference = "works"
"""


@pytest.mark.parametrize(("claim", "pictures"), [("deck", 2), ("walls", 1), ("broken", 1)])
def test_the_claim_notebook_answers_every_kind_of_claim(
    claim: str, pictures: int, small_study: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (small_study / "claims.toml").write_text(CLAIMS, encoding="utf-8")
    shown = run("claim", monkeypatch, study=str(small_study), claim=claim)
    text = check(shown)
    assert "What would change it" in text
    assert sum("<img" in output._repr_mimebundle_()["text/html"] for output in shown) == pictures


def test_the_notebook_of_a_block_shows_one_asked_for_and_says_what_it_lacks(
    bored_study: Callable[..., Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    sound, two = bored_study(tmp_path / "a"), {"front": 0, "thrust": 90}
    shown = run("block", monkeypatch, study=str(sound), block="W01")
    assert sum("<img" in output._repr_mimebundle_()["text/html"] for output in shown) == 6
    text = check(shown)
    for said in ("5 other", "To be used at all: fit", "towards", "Core shift in depth"):
        assert said.split()[-1] in text
    poor = bored_study(tmp_path / "b", stations=two)
    text = check(run("block", monkeypatch, study=str(poor), block=""))
    assert "No map" in text
    assert "No curve" in text
    with pytest.raises(Refusal, match="did you mean “W01”"):
        run("block", monkeypatch, study=str(sound), block="W1")


def test_the_notebook_of_shifts_compares_families_or_says_why_not(
    bored_study: Callable[..., Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = check(run("shift", monkeypatch, study=str(bored_study(tmp_path / "a"))))
    assert "Core shift by family" in text
    assert "Share of each family that is fit" in text
    poor = bored_study(tmp_path / "b", drawn_stations=None)
    assert "No core shift" in check(run("shift", monkeypatch, study=str(poor)))


def test_the_summary_lists_every_claim(small_study: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (small_study / "claims.toml").write_text(CLAIMS, encoding="utf-8")
    text = check(run("summary", monkeypatch, study=str(small_study)))
    for claim in ("deck", "walls", "broken"):
        assert claim in text


def test_notebooks_say_so_when_nothing_may_enter_a_mean(
    small_study: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (small_study / "readings.csv").write_text(
        "block,family,quantity,value,unit,sampling\nW1,works,mass,41.0,kg,search\n", "utf-8"
    )
    for name in ("distributions", "intervals"):
        text = check(run(name, monkeypatch, study=str(small_study)))
        assert "No reading may enter a mean" in text
    assert "1 reading on searched places" in check(
        run("records", monkeypatch, study=str(small_study))
    )


def test_a_notebook_runs_in_a_plain_kernel_on_the_demo() -> None:
    """As it is opened by hand: a fresh kernel, nothing preloaded, the notebook's own folder."""
    notebook = nbformat.read(NOTEBOOKS / "summary.ipynb", as_version=4)
    where = {"metadata": {"path": str(NOTEBOOKS)}}
    NotebookClient(notebook, timeout=300, resources=where).execute()
    outputs = [output for cell in notebook.cells for output in cell.get("outputs", [])]
    assert [output["output_type"] for output in outputs] == ["execute_result"] * 4
    assert outputs[2]["data"]["text/plain"].startswith("Forest plot of ")


REFUSED = """
from IPython.core.interactiveshell import InteractiveShell
from workbench.study import open_study
InteractiveShell.instance(colors="nocolor").run_cell("from workbench.study import open_study")
InteractiveShell.instance().run_cell("open_study('no-such-folder')")
"""


def test_a_refusal_in_a_notebook_is_a_sentence_and_no_traceback() -> None:
    done = subprocess.run(
        [sys.executable, "-c", REFUSED], capture_output=True, text=True, check=True
    )
    (line,) = done.stdout.splitlines()
    assert line.startswith("StudyError: ")
    assert "no-such-folder" in line


THREADS = 'import os, workbench.study; print(os.environ["OPENBLAS_NUM_THREADS"])'


@pytest.mark.parametrize(("set_before", "used"), [({}, "1"), ({"OPENBLAS_NUM_THREADS": "3"}, "3")])
def test_a_notebook_computes_on_one_thread_unless_told_otherwise(
    set_before: dict[str, str], used: str
) -> None:
    """Two threads that wait for each other took sixty times as long on a busy machine."""
    bare = {name: value for name, value in os.environ.items() if name != "OPENBLAS_NUM_THREADS"}
    done = subprocess.run(
        [sys.executable, "-c", THREADS],
        env=bare | set_before,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.strip() == used
