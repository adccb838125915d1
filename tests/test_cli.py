"""The command line: exit codes, no traceback for bad input, nothing heavy loaded for help."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from workbench.cli import main
from workbench.runs.new_study import new_study

pytestmark = pytest.mark.usefixtures("readings_kept")
DATA = Path(__file__).parents[1] / "data"
HEAVY = ("numpy", "pandas", "scipy", "duckdb", "matplotlib", "seaborn", "papermill", "nbformat")


def call(*arguments: str | Path) -> Result:
    return CliRunner(env={"COLUMNS": "120"}).invoke(main, [str(word) for word in arguments])


@pytest.fixture
def study(tmp_path: Path) -> Path:
    folder = tmp_path / "study"
    new_study(folder)
    return folder


def test_help_loads_nothing_heavy() -> None:
    program = (
        "import sys\nfrom workbench.cli import main\n"
        "main(['--help'], standalone_mode=False)\n"
        f"print([name for name in {HEAVY!r} if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines()[-1] == "[]"


@pytest.mark.parametrize(("name", "code"), [("demo", 1), ("oxide", 0), ("growth", 0)])
def test_check_says_by_its_exit_code_whether_there_are_faults(name: str, code: int) -> None:
    result = call("check", DATA / name)
    assert result.exit_code == code, result.output
    assert ("No faults." in result.output) == (code == 0)


def test_check_counts_every_row_and_writes_the_rejected(tmp_path: Path) -> None:
    rejected = tmp_path / "rejected.csv"
    result = call("check", DATA / "demo", "--rejected", rejected)
    assert "6305 rows in = 6282 accepted + 23 rejected" in result.output
    header, *rows = rejected.read_text(encoding="utf-8").splitlines()
    assert header == "file,row,column,value,code,sentence"
    assert len(rows) >= 23


@pytest.mark.parametrize("command", ["check", "judge"])
def test_no_study_is_said_with_exit_code_two(command: str, tmp_path: Path) -> None:
    result = call(command, tmp_path / "nowhere")
    assert result.exit_code == 2
    assert "There is no study folder" in result.output
    assert "Traceback" not in result.output


@pytest.mark.parametrize(
    "words", ["check S", "judge S", "worth S", "plan S", "place S A1", "run S --out O",
              "article S --out O"]
)  # fmt: skip
def test_the_engine_is_asked_for_on_the_command_line(
    words: str, study: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without Java or the extra Spark says so; the study's own choice is not used then."""
    monkeypatch.setenv("JAVA_HOME", "/nowhere")
    monkeypatch.setitem(sys.modules, "pyspark.sql", None)
    places = {"S": study, "O": tmp_path / "out"}
    asked = [places.get(word, word) for word in words.split()]
    result = call(*asked, "--engine", "local[2]")
    assert result.exit_code == 2
    assert "Spark is not installed" in result.output
    result = call(*asked, "--engine", "another")
    assert result.exit_code == 2
    assert "There is no engine “another”" in result.output


def test_the_engine_of_the_command_line_comes_before_the_study_s(
    study: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pyspark.sql", None)
    with (study / "study.toml").open("a", encoding="utf-8") as file:
        file.write('\n[engine]\nname = "spark"\n')
    assert "Spark is not installed" in call("check", study).output
    assert call("check", study, "--engine", "duckdb").exit_code == 0


def test_faults_of_the_settings_are_all_listed(study: Path) -> None:
    (study / "study.toml").write_text('titel = "x"\nconfidence = 2\n', encoding="utf-8")
    result = call("judge", study)
    assert result.exit_code == 2
    for said in ("titel", "title", "confidence"):
        assert said in result.output


def test_a_new_study_is_sound_and_is_judged(study: Path) -> None:
    assert call("check", study).exit_code == 0
    assert call("judge", study).exit_code == 0


def test_new_leaves_a_folder_with_files_alone(study: Path) -> None:
    result = call("new", study)
    assert result.exit_code == 2
    assert "is not empty" in result.output


def test_json_is_the_contract() -> None:
    result = call("judge", DATA / "oxide", "--json")
    said = json.loads(result.output)
    assert {"study", "confidence", "verdicts"} <= said.keys()
    assert {
        *("claim", "outcome", "estimate", "unit", "low", "high", "confidence", "p_value"),
        *("degrees_of_freedom", "standard_error", "method", "candidate_blocks"),
        *("reference_blocks", "candidate_readings", "reference_readings"),
        *("stands_after_adjustment", "warnings", "sentence", "next_step"),
    } <= said["verdicts"][0].keys()


def test_only_asks_for_one_claim_and_says_which_there_are() -> None:
    said = json.loads(call("judge", DATA / "oxide", "--json", "--only", "sources-differ").output)
    assert [verdict["claim"] for verdict in said["verdicts"]] == ["sources-differ"]
    result = call("judge", DATA / "oxide", "--only", "sources-difer")
    assert result.exit_code == 2
    assert "sources-differ" in result.output


def test_text_of_a_study_cannot_steer_the_terminal(study: Path) -> None:
    settings = (study / "study.toml").read_text(encoding="utf-8")
    title = 'title = "[bold red]x[/] \\u001b[31m <b>y</b>"'
    lines = [title if line.startswith("title") else line for line in settings.splitlines()]
    (study / "study.toml").write_text("\n".join(lines), encoding="utf-8")
    result = call("judge", study)
    assert "\x1b" not in result.output
    assert "[bold red]x[/]" in result.output or result.exit_code == 2


def test_article_asks_for_one_of_its_two_uses(study: Path, tmp_path: Path) -> None:
    assert "--out DIR to write the article, or --check" in call("article", study).output
    both = call("article", study, "--out", tmp_path / "o", "--check", tmp_path / "d.md")
    assert both.exit_code == 2


def test_a_draft_is_checked_with_exit_code_one_for_findings(study: Path, tmp_path: Path) -> None:
    draft = tmp_path / "draft.md"
    draft.write_text("This proves it.\n", encoding="utf-8")
    result = call("article", study, "--check", draft)
    assert result.exit_code == 1
    assert "line 1  proof_word" in result.output
    found = json.loads(call("article", study, "--check", draft, "--json").output)
    assert [(one["line"], one["code"]) for one in found] == [(1, "proof_word")]
    draft.write_text("Nothing is said here.\n", encoding="utf-8")
    assert call("article", study, "--check", draft).exit_code == 0
    assert call("article", study, "--check", tmp_path / "none.md").exit_code == 2


def test_judge_loads_no_library_of_the_article() -> None:
    program = (
        "import sys\nfrom workbench.cli import main\n"
        f"main(['judge', {str(DATA / 'oxide')!r}], standalone_mode=False)\n"
        "print([n for n in ('docx', 'xlsxwriter', 'matplotlib', 'tomli_w') if n in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines()[-1] == "[]"


@pytest.mark.parametrize("name", ["study.toml", "claims.toml"])
def test_a_settings_file_linked_from_elsewhere_is_refused(study: Path, name: str) -> None:
    (study / name).rename(study.parent / "elsewhere.toml")
    (study / name).symlink_to(study.parent / "elsewhere.toml")
    for command in ("check", "judge"):
        result = call(command, study)
        assert result.exit_code == 2
        assert f"{name}: The path leaves the study folder" in result.output


@pytest.mark.parametrize(
    ("stated", "fault"),
    [
        ("[fitness.x]\nnote = 'n'\nunit = 'mm'\nleast_wall = -4.0", "fitness.x.least_wall"),
        ("[worth]\nmachining_saves = 3", "worth.machining_saves"),
        ("[worth]\nusable_block = 3000", "worth.usable_block"),
    ],
)
def test_check_tells_faults_that_only_some_answers_rest_on(
    study: Path, stated: str, fault: str
) -> None:
    """What `judge` does without must not come up first when a block is placed or priced."""
    settings = study / "study.toml"
    settings.write_text(settings.read_text().split("[worth]")[0] + "\n" + stated + "\n")
    result = call("check", study)
    assert result.exit_code == 1
    assert fault in result.output
    assert call("judge", study).exit_code == 0


def test_a_price_without_currency_is_no_fault_until_worth_is_asked(study: Path) -> None:
    settings = study / "study.toml"
    kept = settings.read_text().split("[worth]")[0]
    settings.write_text(kept.replace('currency = "GBP"\n', ""))
    assert call("check", study).exit_code == 0


def test_a_slip_of_the_unit_is_shown_before_any_answer_that_rests_on_it(study: Path) -> None:
    readings = study / "readings.csv"
    lines = readings.read_text().splitlines()
    at = next(n for n, line in enumerate(lines) if "deck_thickness" in line)
    wrong = lines[at].split(",")
    wrong[lines[0].split(",").index("value")] = "104.2"
    lines[at] = ",".join(wrong)
    readings.write_text("\n".join(lines) + "\n")
    assert "[far_off]" in call("check", study).output
    placed = call("place", study, "P1", "--json")
    assert placed.exit_code == 0
    (doubt,) = json.loads(placed.output)["doubts"]
    assert "104.2 mm" in doubt["text"]
    assert call("place", study, "P1").output.index("look at") < 200
    first = json.loads(call("judge", study, "--json").output)["verdicts"][0]["warnings"][0]
    assert first["code"] == "far_off"


def test_add_keeps_readings_corrects_them_and_tells_the_time(study: Path, tmp_path: Path) -> None:
    """A new study becomes a collection: its file added twice, then a reading of it corrected."""
    refused = call("add", study, study / "readings.csv")
    assert refused.exit_code == 2
    assert "rename that file and add it" in refused.stderr
    first = (study / "readings.csv").rename(study / "first.csv")
    was = call("judge", study, "--json")
    assert was.exit_code == 2
    added = call("add", study, first)
    assert added.exit_code == 0, added.output
    told = re.search(r"Added as readings/addition-000001 at (\S+Z)\.", added.output)
    assert told
    then = call("judge", study, "--json")
    again = call("add", study, first)
    assert again.exit_code == 0
    assert "Nothing in them is new; nothing was written." in again.output
    header, row, *_ = first.read_text(encoding="utf-8").splitlines()
    cells = dict(zip(header.split(","), row.split(","), strict=True))
    fixed = ",".join((cells | {"value": "9.99"}).values())
    (tmp_path / "fix.csv").write_text(f"{header},was_value\n{fixed},{cells['value']}\n")
    corrected = call("add", study, tmp_path / "fix.csv")
    assert corrected.exit_code == 0, corrected.output
    assert "1 earlier reading counts no more from here on" in corrected.output
    assert call("judge", study, "--json").stdout != then.stdout
    assert call("judge", study, "--json", "--as-of", told[1]).stdout == then.stdout
    assert "1 addition, the latest made" in call("check", study, "--as-of", told[1]).output
    wrong = call("check", study, "--as-of", "yesterday")
    assert wrong.exit_code == 2
    assert "as_of must be a day" in wrong.stderr


def test_add_with_faults_ends_with_exit_code_one_and_names_the_file_to_mend(
    study: Path, tmp_path: Path
) -> None:
    text = (study / "readings.csv").read_text(encoding="utf-8")
    (study / "readings.csv").unlink()
    (tmp_path / "new.csv").write_text(text + "\x1b[31mB9,works,wall_thickness,x,mm\n", "utf-8")
    result = call("add", study, tmp_path / "new.csv")
    assert result.exit_code == 1
    assert "\x1b" not in result.output
    assert str(study / "readings" / "addition-000001" / "rejected.csv") in result.output
