"""A study run headless with small notebooks: what is written, what is kept, what is refused."""

from __future__ import annotations

import hashlib
import json
import sys
from collections.abc import Callable
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from workbench.errors import RunError, StudyError
from workbench.records.faults import FaultsError
from workbench.runs import jobs
from workbench.runs.kernels import REDUCED
from workbench.runs.new_study import new_study
from workbench.runs.parameters import ClaimParameters, RecordsParameters, SummaryParameters
from workbench.runs.plan import Notebook
from workbench.runs.runner import RunSummary, run_study
from workbench.runs.terminal import print_summary
from workbench.study import open_study

pytestmark = pytest.mark.usefixtures("readings_kept")
Run = Callable[..., RunSummary]
RECORDS = """
from workbench.study import open_study
opened = open_study(study)
print(opened.records.rows_in, "rows of", opened.title)
import matplotlib.pyplot as plt
plt.plot([1, 2]);
"""
CLAIM = """
from workbench.study import open_study
(verdict,) = open_study(study).judge(only=claim, seed=seed).verdicts
print(verdict.claim, verdict.outcome, repr(verdict.estimate))
"""
SUMMARY = "print(study, seed)"
CLAIM_CELL = 'study = "../data/demo"\nseed = 1\nclaim = "x"'
HOSTILE = (
    "<script>alert(1)</script><img src=x onerror=alert(1)> **bold** [x](javascript:1) {{ 7*7 }}"
)


@pytest.fixture
def study(tmp_path: Path) -> Path:
    new_study(tmp_path / "study")
    return tmp_path / "study"


@pytest.fixture(scope="module")
def books(written: Callable[..., Path]) -> list[Notebook]:
    return [
        Notebook(path=written("records", RECORDS), model=RecordsParameters, title="Records"),
        Notebook(
            path=written("claim", CLAIM, parameters=CLAIM_CELL),
            model=ClaimParameters,
            title="Claim",
            each_claim=True,
        ),
        Notebook(path=written("summary", SUMMARY), model=SummaryParameters, title="Summary"),
    ]


@dataclass
class Whole:
    """One run of everything, looked at by several tests."""

    study: Path
    before: dict[str, str]
    out: Path
    summary: RunSummary


@pytest.fixture(scope="module")
def run(forked: Any) -> Run:
    """Give a run without progress, on kernels that all runs here share unless it has its own."""

    def run(study: Path, out: Path, books: list[Notebook], **options: Any) -> RunSummary:
        manager = None if "kernels" in options else forked
        options = {"progress": False, "manager": manager} | options
        return run_study(study, out, notebooks=books, **options)

    return run


@pytest.fixture(scope="module")
def whole(run: Run, books: list[Notebook], tmp_path_factory: pytest.TempPathFactory) -> Whole:
    folder = tmp_path_factory.mktemp("whole")
    new_study(folder / "study")
    before = state(folder / "study")
    summary = run(folder / "study", folder / "out", books, jobs=2, seed=7)
    return Whole(study=folder / "study", before=before, out=folder / "out", summary=summary)


def state(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


class Links(HTMLParser):
    """The links and pictures of a page."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.found: list[str] = []
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(path.read_text(encoding="utf-8"))
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        self.found += [value or "" for name, value in attrs if name in ("href", "src")]

    def handle_data(self, data: str) -> None:
        self.text += data


def test_a_run_writes_a_whole_report_and_leaves_the_study(whole: Whole) -> None:
    study, out, summary = whole.study, whole.out, whole.summary
    assert state(study) == whole.before
    assert summary.failed == ()
    assert (summary.index, summary.manifest) == (out / "index.html", out / "manifest.json")
    names = {"records", "claim-deck-thicker", "claim-same-mass", "claim-walls-thicker", "summary"}
    assert set(state(out)) == {"index.html", "verdicts.json", "manifest.json"} | {
        f"{folder}/{name}.{ending}"
        for name in names
        for folder, ending in (("notebooks", "ipynb"), ("pages", "html"))
    }
    verdicts = json.loads(summary.verdicts.read_text())
    assert verdicts == summary.judgement.to_json()
    assert [verdict["claim"] for verdict in verdicts["verdicts"]] == [
        "deck-thicker",
        "same-mass",
        "walls-thicker",
    ]
    manifest = json.loads(summary.manifest.read_text())
    assert manifest["seed"] == 7
    for name, entry in manifest["inputs"].items():
        assert entry["sha256"] == hashlib.sha256((study / name).read_bytes()).hexdigest()
    assert set(manifest["inputs"]) == {path.name for path in study.iterdir()}
    assert manifest["claims_digest"] == manifest["inputs"]["claims.toml"]["sha256"]
    assert {job["name"] for job in manifest["notebooks"]} == names
    assert manifest["notebooks"][1]["parameters"]["claim"] == "deck-thicker"
    assert manifest["versions"]["python"] == ".".join(map(str, sys.version_info[:3]))


def test_a_study_without_claims_is_run_and_says_so(
    study: Path,
    run: Run,
    books: list[Notebook],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    (study / "claims.toml").unlink()
    summary = run(study, tmp_path / "out", books[:2])
    assert (summary.failed, summary.notebooks) == ((), 1)
    assert json.loads(summary.verdicts.read_text())["verdicts"] == []
    assert "The study states no claim." in Links(summary.index).text
    print_summary(summary)
    assert "The study states no claim" in capsys.readouterr().out
    with pytest.raises(FaultsError, match="the study states no claim"):
        open_study(study).judge()


def test_the_index_links_every_page_and_nothing_outside(whole: Whole) -> None:
    index = Links(whole.summary.index)
    pages = sorted((whole.out / "pages").iterdir())
    assert {f"pages/{path.name}" for path in pages} <= set(index.found)
    for page in (whole.summary.index, *pages):
        for link in Links(page).found:
            if not link.startswith("data:image/"):
                target = link.partition("#")[0]
                assert "://" not in link
                assert (page.parent / target).exists()
                if not target:
                    anchors = [attributes.get("id") for _, attributes in Links(page).elements]
                    assert link[1:] in anchors
    for heading in index.elements:
        if heading[0] == "th":
            assert heading[1]["scope"] in ("col", "row")
    assert ("html", {"lang": "en"}) in index.elements
    assert "supported" in index.text
    assert "Final judgement rests with a qualified machinist or engineer" in index.text


@pytest.mark.parametrize("options", [{"kernels": "forked", "jobs": 1}, {"kernels": "plain"}])
def test_a_second_run_gives_the_same_bytes(
    options: dict[str, Any], run: Run, whole: Whole, books: list[Notebook]
) -> None:
    """Whatever the number of jobs, whatever the make of kernel."""
    second = whole.out.parent / f"second-{options['kernels']}"
    run(whole.study, second, books, seed=7, **options)
    one, other = state(whole.out), state(second)
    manifests = [json.loads((out / "manifest.json").read_text()) for out in (whole.out, second)]
    for manifest in manifests:
        del manifest["seconds"], manifest["started"], manifest["kernels"]
        for job in manifest["notebooks"]:
            del job["seconds"]
    assert manifests[0] == manifests[1]
    del one["manifest.json"], other["manifest.json"]
    assert one == other


def test_what_a_run_keeps_of_its_study_goes_before_the_kernels_it_shares(
    whole: Whole, run: Run, forked: Any, tmp_path: Path
) -> None:
    with pytest.raises(RunError, match="no notebook"):
        run(whole.study, tmp_path / "out", [], only=["none"])
    assert forked.folder.is_dir()
    assert not (forked.folder / REDUCED).exists()


def test_no_place_of_this_machine_is_in_a_notebook(whole: Whole) -> None:
    for path in (whole.out / "notebooks").iterdir():
        text = path.read_text()
        assert str(whole.study.parent) not in text
        assert "papermill" not in text
        json.loads(text)
    assert '"image/png"' in (whole.out / "notebooks" / "records.ipynb").read_text()


def test_an_executed_notebook_runs_again_where_it_lies(whole: Whole) -> None:
    book = json.loads((whole.out / "notebooks" / "claim-deck-thicker.ipynb").read_text())
    (injected,) = [cell for cell in book["cells"] if cell["id"] == "injected-parameters"]
    values: dict[str, Any] = {}
    exec("".join(injected["source"]), values)
    assert (whole.out / "notebooks" / values["study"]).resolve() == whole.study
    assert values["claim"] == "deck-thicker"


def test_the_numbers_of_a_notebook_are_those_of_the_verdicts(whole: Whole) -> None:
    book = json.loads((whole.out / "notebooks" / "claim-deck-thicker.ipynb").read_text())
    printed = "".join(book["cells"][-1]["outputs"][0]["text"]).split()
    verdict = json.loads(whole.summary.verdicts.read_text())["verdicts"][0]
    assert printed == ["deck-thicker", verdict["outcome"], repr(verdict["estimate"])]


def test_failing_notebooks_are_kept_and_named(
    study: Path, run: Run, written: Callable[..., Path], tmp_path: Path
) -> None:
    sources = {
        "fails": ("ratio = 1", "raise ValueError('no <b>ratio</b>')"),
        "hangs": ("import time; print('begun')", "while True: time.sleep(60)"),
        "works": ("1 + 1",),
    }
    books = [
        Notebook(path=written(name, *cells), model=SummaryParameters, title=name)
        for name, cells in sources.items()
    ]
    out = tmp_path / "out"
    summary = run(study, out, books, seconds_a_notebook=3)
    lines = [
        "Notebook fails failed in cell 4 (raise ValueError('no <b>ratio</b>')): "
        "ValueError: no <b>ratio</b>",
        "Notebook hangs failed in cell 4 (while True: time.sleep(60)): "
        "it was not done within the 3 s a notebook may take",
    ]
    assert [failure.line() for failure in summary.failed] == lines
    kept = json.loads((out / "notebooks" / "fails.ipynb").read_text())
    assert kept["cells"][3]["outputs"][0]["ename"] == "ValueError"
    kept = json.loads((out / "notebooks" / "hangs.ipynb").read_text())
    assert kept["cells"][2]["outputs"][0]["text"] == ["begun\n"]
    assert lines[0] in Links(out / "pages" / "fails.html").text
    index = Links(summary.index)
    assert all(line in index.text for line in lines)
    assert "pages/works.html" in index.found


def test_text_of_the_study_is_shown_as_text(
    study: Path, run: Run, books: list[Notebook], tmp_path: Path
) -> None:
    for name, key in (("study.toml", "title"), ("claims.toml", "statement")):
        lines = (study / name).read_text().splitlines()
        changed = [
            f"{key} = '{HOSTILE}'" if line.startswith(f"{key} =") else line for line in lines
        ]
        (study / name).write_text("\n".join(changed))
    readings = (study / "readings.csv").read_text().replace("\nP1,", f'\n"{HOSTILE}",')
    (study / "readings.csv").write_text(readings + f"{HOSTILE},plain,1,front,mass,-3,kg,,,\n")
    summary = run(study, tmp_path / "out", books)
    assert summary.failed == ()
    for page in (summary.index, *(tmp_path / "out" / "pages").iterdir()):
        elements = Links(page).elements
        assert not {"script", "b", "iframe"} & {tag for tag, _ in elements}
        for tag, attributes in elements:
            assert not any(name.startswith("on") for name in attributes)
            if tag == "img":
                assert (attributes["src"] or "").startswith("data:image/png")
                assert attributes["alt"]
            assert not (attributes.get("href") or "").startswith("javascript")
    assert HOSTILE in Links(summary.index).text


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"only": ["sumary"]}, "There is no notebook and no claim 'sumary'"),
        ({"seed": "1"}, r"Notebook records was not started: parameter 'seed': .* not '1' \(str\)"),
        ({"parameters": {"claim": {"clam": "x"}}}, "Notebook claim was not started: it has no"),
        ({"parameters": {"summary": {"seed": 1.5}}}, "Notebook summary was not started"),
        ({"kernels": "spawned"}, "kernels may be forked, plain, not 'spawned'"),
    ],
)
def test_a_bad_parameter_is_refused_before_a_kernel_starts(
    options: dict[str, Any],
    message: str,
    study: Path,
    run: Run,
    books: list[Notebook],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def started(*_: Any, **__: Any) -> None:
        pytest.fail("a notebook was started")

    monkeypatch.setattr(jobs, "execute", started)
    with pytest.raises(RunError, match=message):
        run(study, tmp_path / "out", books, **options)
    assert not (tmp_path / "out").exists()


def test_a_study_that_cannot_be_opened_is_refused(
    study: Path, run: Run, books: list[Notebook], tmp_path: Path
) -> None:
    with pytest.raises(StudyError, match="There is no study folder"):
        run(tmp_path / "none", tmp_path / "out", books)
    (study / "claims.toml").write_text("claim = 3\n")
    with pytest.raises(FaultsError, match="A claim starts with a line"):
        run(study, tmp_path / "out", books, kernels="plain")  # ended with it, what they ran or not
    assert not (tmp_path / "out").exists()


def test_progress_is_a_line_a_notebook_where_there_is_no_terminal(
    study: Path,
    run: Run,
    books: list[Notebook],
    tmp_path: Path,
    capfd: pytest.CaptureFixture[str],
) -> None:
    two = [book for book in books if not book.each_claim]
    run(study, tmp_path / "out", two, jobs=1, progress=True)
    shown = capfd.readouterr()
    assert shown.out == ""
    lines = shown.err.splitlines()
    assert [line.split(":")[0] for line in lines] == [
        "[1/2] records",
        "[2/2] summary",
    ]
    assert all("done in" in line for line in lines)
