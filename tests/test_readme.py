"""The README says what the workbench does: its tables are made from the code, its examples run.

`uv run python tests/test_readme.py` writes the README's tables and outputs anew; look at the
difference before you commit it.
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from workbench.claims.claim import Claim, FaultyClaim
from workbench.claims.codes import claim_fault_table, reason_table, warning_table
from workbench.claims.judge import Bench
from workbench.claims.verdict import Verdict
from workbench.cli import main
from workbench.records.codes import code_table
from workbench.records.columns import synonym_table

pytestmark = pytest.mark.usefixtures("readings_kept")
ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
TABLES = {
    "columns": synonym_table,
    "codes": code_table,
    "claim faults": claim_fault_table,
    "warnings": warning_table,
    "reasons": reason_table,
}
HEADING = re.compile(r"^#{2,3} (.*)$", re.MULTILINE)
CONSOLE = re.compile(r"```console\n\$ uv run workbench ([^\n]*)\n(.*?)```", re.DOTALL)


@pytest.fixture(scope="module", autouse=True)
def verdicts_reached_once() -> Iterator[None]:
    """Reach each verdict once for all examples: it hangs on its study, its seed and its id."""
    reached: dict[tuple[str, int, str], Verdict] = {}
    verdict = Bench.verdict

    def once(bench: Bench, entry: Claim | FaultyClaim) -> Verdict:
        key = (bench.settings.title, bench.seed, entry.id)
        if key not in reached:
            reached[key] = verdict(bench, entry)
        return reached[key]

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(Bench, "verdict", once)
        yield


def examples(text: str) -> list[str]:
    return [match.group(1) for match in CONSOLE.finditer(text)]


def output_of(command: str) -> str:
    result = CliRunner(env={"COLUMNS": "100"}).invoke(main, shlex.split(command))
    assert result.exit_code == 0, result.output
    return "\n".join(line.rstrip() for line in result.output.splitlines()) + "\n"


def renewed(text: str) -> str:
    for name, make in TABLES.items():
        text = re.sub(
            rf"<!-- {name} -->\n.*?<!-- end -->",
            lambda _, name=name, make=make: f"<!-- {name} -->\n{make()}\n<!-- end -->",
            text,
            flags=re.DOTALL,
        )
    return CONSOLE.sub(
        lambda match: (
            f"```console\n$ uv run workbench {match.group(1)}\n{output_of(match.group(1))}```"
        ),
        text,
    )


@pytest.mark.parametrize("name", TABLES)
def test_tables_are_those_of_the_code(name: str) -> None:
    assert f"<!-- {name} -->\n{TABLES[name]()}\n<!-- end -->" in README.read_text(encoding="utf-8")


@pytest.mark.parametrize("command", examples(README.read_text(encoding="utf-8")))
def test_examples_print_what_the_readme_shows(
    command: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ROOT)
    shown = next(
        match.group(2)
        for match in CONSOLE.finditer(README.read_text(encoding="utf-8"))
        if match.group(1) == command
    )
    assert output_of(command) == shown


def test_the_first_screen_holds_the_two_commands() -> None:
    start = README.read_text(encoding="utf-8").split("\n## The commands")[0]
    assert "\npip install uv && uv run workbench demo\n" in start
    assert "\npip install uv && uv run pytest\n" in start


def test_the_job_comes_first_and_the_cautions_next() -> None:
    paragraphs = README.read_text(encoding="utf-8").split("\n\n")
    assert paragraphs[1].startswith("Cast engine blocks of one design come in families")
    assert paragraphs[2].startswith("> **Cautions.**")


def test_every_link_within_the_page_leads_to_a_heading() -> None:
    """As pages of Markdown name a heading: small letters, hyphens for spaces, no other signs."""
    text = README.read_text(encoding="utf-8")
    there = {
        re.sub(r"[^\w -]", "", head).lower().replace(" ", "-") for head in HEADING.findall(text)
    }
    links = re.findall(r"\]\(#([^)]*)\)", text)
    assert set(links) <= there
    assert {"the-commands", "a-study-of-your-own", "codes"} <= set(links)


if __name__ == "__main__":
    README.write_text(renewed(README.read_text(encoding="utf-8")), encoding="utf-8")
