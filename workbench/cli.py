"""Arguments in, exit code out; nothing else. Heavy rooms are opened only by the command in use."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from workbench.errors import WorkbenchError

if TYPE_CHECKING:
    from workbench.runs.batch import BatchSummary
    from workbench.runs.runner import RunSummary

# Before numpy loads: the matrices here are small, and threads that wait for each other made them
# ten times slower on a busy machine. A user's own setting stands.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

FOLDER = click.Path(path_type=Path)
AS_OF = click.option(
    "--as-of", metavar="TIME", help="Read the collection as it was at this day or time (UTC)."
)
EXIT_FAULTS = 1
EXIT_CANNOT = 2


def engine_named(_: click.Context, __: click.Parameter, text: str | None) -> str | None:
    """Give the engine asked for as it was written, once it is known to be one."""
    if text is not None:
        from workbench.records.engine_choice import engine_asked

        engine_asked(text)
    return text


ENGINE = click.option(
    "--engine",
    metavar="NAME",
    callback=engine_named,
    help="Reduce the readings with duckdb, spark or the Spark at this address.",
)


class Commands(click.Group):
    """The command group; what the workbench refuses is said in words and ends with exit code 2."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command, turning a refusal into one message without a traceback."""
        try:
            return super().invoke(ctx)
        except WorkbenchError as error:
            click.echo(f"workbench: {error}", err=True)
            ctx.exit(EXIT_CANNOT)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="block-workbench", prog_name="workbench")
def main() -> None:
    """Compare families of cast engine blocks from inspection records.

    A STUDY is a folder with study.toml, readings and claims.toml. Start with `workbench demo`,
    or lay out a study of your own with `workbench new DIR`.
    """


@main.command()
@click.argument("study", type=FOLDER)
@click.option("--rejected", type=FOLDER, help="Write every rejected row to this CSV file.")
@AS_OF
@ENGINE
def check(study: Path, rejected: Path | None, as_of: str | None, engine: str | None) -> None:
    """Say what is there, what is missing from the grid, and every fault.

    Exit code 0 without faults, 1 with faults, 2 when the study cannot be opened.
    """
    from workbench.runs.terminal import print_check
    from workbench.study import open_study

    opened = open_study(study, as_of=as_of, engine=engine)
    print_check(opened)
    if rejected is not None:
        opened.records.rejected_rows().to_csv(rejected, index=False)
        click.echo(f"Rejected rows written to {rejected}")
    sys.exit(0 if opened.sound else EXIT_FAULTS)


@main.command()
@click.argument("study", type=FOLDER)
@click.argument("files", metavar="FILE...", type=FOLDER, nargs=-1, required=True)
def add(study: Path, files: tuple[Path, ...]) -> None:
    """Add the sound rows of files to the collection of a study, the folder `readings`.

    Exit code 0 when every row is in the collection afterwards, also where it was before; 1 when
    rows were rejected, which are kept beside it; 2 when nothing could be added.
    """
    from workbench.records.collection.adding import add_readings
    from workbench.runs.terminal_added import print_added

    added = add_readings(study, files)
    print_added(added)
    sys.exit(EXIT_FAULTS if added.fault_count else 0)


@main.command()
@click.argument("study", type=FOLDER)
@click.option("--json", "as_json", is_flag=True, help="Print the verdicts as JSON.")
@click.option("--only", metavar="CLAIM", help="Judge only the claim with this id.")
@click.option("--seed", type=int, help="Seed of the resampling checks.")
@AS_OF
@ENGINE
def judge(
    study: Path,
    as_json: bool,
    only: str | None,
    seed: int | None,
    as_of: str | None,
    engine: str | None,
) -> None:
    """Judge the claims of a study: supported, contradicted or unresolved."""
    from workbench.runs.terminal import print_verdicts
    from workbench.study import DEFAULT_SEED, open_study

    opened = open_study(study, as_of=as_of, engine=engine)
    judgement = opened.judge(only=only, seed=DEFAULT_SEED if seed is None else seed)
    if as_json:
        echo_json(judgement.to_json())
    else:
        print_verdicts(judgement)


@main.command()
@click.argument("study", type=FOLDER)
@click.option("--duty", metavar="NAME", help="The duty asked about, as in [fitness.NAME].")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
@click.option("--seed", type=int, help="Seed of the simulation.")
@ENGINE
def worth(
    study: Path, duty: str | None, as_json: bool, seed: int | None, engine: str | None
) -> None:
    """Say what a usable block of each family costs, and whether the dear one is worth it.

    Exit code 0 where any family could be answered, else 2.
    """
    from workbench.runs.worth_terminal import print_worth
    from workbench.study import DEFAULT_SEED, doubts_json, open_study
    from workbench.worth.as_json import worth_json

    opened = open_study(study, engine=engine)
    seed = DEFAULT_SEED if seed is None else seed
    answer = opened.worth(duty=duty, seed=seed, jointly=as_json)
    if as_json:
        echo_json({"study": opened.title, **doubts_json(opened), **worth_json(answer)})
    else:
        print_worth(opened.title, answer, opened.doubts)
    sys.exit(0 if any(family.costs for family in answer.families) else EXIT_CANNOT)


@main.command()
@click.argument("study", type=FOLDER)
@click.option("--claim", metavar="ID", help="Plan only for the claim with this id.")
@click.option("--budget", type=float, help="Money: also the likeliest plan it pays for.")
@click.option(
    "--half-width",
    type=float,
    help="In the unit of the claim: also the cheapest plan for an interval so narrow.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the plans as JSON.")
@click.option("--seed", type=int, help="Seed of the resampling checks of the verdicts.")
@ENGINE
def plan(
    study: Path,
    claim: str | None,
    budget: float | None,
    half_width: float | None,
    as_json: bool,
    seed: int | None,
    engine: str | None,
) -> None:
    """Say what to measure next: the cheapest plan that would settle each unresolved claim."""
    from workbench.runs.plan_terminal import print_plans
    from workbench.study import DEFAULT_SEED, doubts_json, open_study
    from workbench.worth.plan_json import plan_json

    opened = open_study(study, engine=engine)
    answer = opened.plan(
        claim=claim,
        seed=DEFAULT_SEED if seed is None else seed,
        budget=budget,
        half_width=half_width,
    )
    if as_json:
        echo_json({"study": opened.title, **doubts_json(opened), **plan_json(answer)})
    else:
        print_plans(opened.title, answer, opened.doubts)


@main.command()
@click.argument("studies", metavar="STUDY...", type=FOLDER, nargs=-1, required=True)
@click.option("--out", type=FOLDER, required=True, help="Folder for the report.")
@click.option("--only", metavar="NAME", help="Run only the notebook with this name.")
@click.option(
    "--each",
    metavar="NAME[=VALUES]",
    multiple=True,
    help="Run the notebook named by --only over every block, claim, duty, or values given.",
)
@click.option("--block", "blocks", metavar="BLOCK", multiple=True, help="Show this block in full.")
@click.option(
    "--set",
    "stated",
    metavar="NAME=VALUE",
    multiple=True,
    help="A parameter of the notebook named by --only.",
)
@click.option("--jobs", type=click.IntRange(1, 64), help="Notebooks at a time.")
@click.option("--seed", type=int, help="Seed of the resampling checks.")
@AS_OF
@ENGINE
def run(
    studies: tuple[Path, ...],
    out: Path,
    only: str | None,
    each: tuple[str, ...],
    blocks: tuple[str, ...],
    stated: tuple[str, ...],
    jobs: int | None,
    seed: int | None,
    as_of: str | None,
    engine: str | None,
) -> None:
    """Run the notebooks headless and write the report to OUT.

    Without --block one block of each family is shown in full: that with the thinnest wall read.

    Several studies go each to a folder of OUT. With them, or with --each, what OUT holds already
    of the same inputs is left; a failure stops nothing, is told at the end, and is exit code 1.
    """
    if each and (blocks or len(studies) > 1):
        raise click.UsageError("--each goes with one STUDY, and without --block.")
    given = parameters_of(only, stated)
    options: dict[str, Any] = {
        "only": only, "jobs": jobs, "seed": seed, "as_of": as_of, "engine": engine
    }  # fmt: skip
    if each:
        from workbench.runs.batch_notebook import run_over

        values = given.get(only or "")
        finish_batch(run_over(studies[0], out, each=each, parameters=values, **options))
    elif len(studies) > 1:
        from workbench.runs.batch_studies import run_studies

        finish_batch(run_studies(studies, out, blocks=blocks, parameters=given, **options))
    else:
        from workbench.runs.runner import run_study

        finish(run_study(studies[0], out, blocks=blocks, parameters=given, **options))


@main.command()
@click.argument("study", type=FOLDER)
@click.option("--out", type=FOLDER, help="Folder for the article.")
@click.option("--check", "draft", type=FOLDER, help="Hold this draft in Markdown to the study.")
@click.option("--letters", is_flag=True, help="Letters for operators, sellers and sources.")
@click.option("--without-bundle", is_flag=True, help="Run no notebook and pack no bundle.")
@click.option("--json", "as_json", is_flag=True, help="Print what the check finds as JSON.")
@click.option("--seed", type=int, help="Seed of the resampling checks.")
@ENGINE
def article(
    study: Path,
    out: Path | None,
    draft: Path | None,
    letters: bool,
    without_bundle: bool,
    as_json: bool,
    seed: int | None,
    engine: str | None,
) -> None:
    """Write the article of a study, or check a draft of your own against it.

    With --out: text, figures and tables in which every number is traced. With --check: exit code 0
    when nothing is found, 1 when something is.
    """
    if (out is None) == (draft is None):
        raise click.UsageError("Give --out DIR to write the article, or --check DRAFT.md.")
    if draft is not None:
        check_against(study, draft, as_json=as_json, seed=seed, engine=engine)
    elif out is not None:
        from workbench.runs.article_run import write_article
        from workbench.runs.terminal import print_article

        print_article(
            write_article(
                study, out, seed=seed, letters=letters, bundle=not without_bundle, engine=engine
            )
        )


@main.command()
@click.option(
    "--out", type=FOLDER, default=Path("out/demo"), show_default=True, help="Folder for the report."
)
@click.option("--jobs", type=click.IntRange(1, 64), help="Notebooks at a time.")
def demo(out: Path, jobs: int | None) -> None:
    """Run every notebook on the invented demo study and print its verdicts."""
    from workbench.runs.places import shipped
    from workbench.runs.runner import run_study

    finish(run_study(shipped("data") / "demo", out, jobs=jobs))


@main.command()
@click.argument("study", type=FOLDER)
@click.argument("block")
@click.option("--duty", metavar="NAME", help="Only this duty of [fitness.NAME].")
@click.option("--json", "as_json", is_flag=True, help="Print the report as JSON.")
@click.option("--out", type=FOLDER, help="Write the sheet of the block to this folder.")
@click.option("--seed", type=int, help="Seed of the drawn walls.")
@ENGINE
def place(
    study: Path,
    block: str,
    duty: str | None,
    as_json: bool,
    out: Path | None,
    seed: int | None,
    engine: str | None,
) -> None:
    """Place one block: in its family, its bores, fit for a duty, how far it can be bored."""
    from workbench.runs.place import place_in_study

    placed = place_in_study(study, block, duty=duty, seed=seed, engine=engine)
    if as_json:
        echo_json(placed.to_json())
    else:
        placed.show()
    if out is not None:
        for path in placed.write(out):
            click.echo(f"wrote {path}", err=as_json)


@main.command()
@click.argument("folder", metavar="DIR", type=FOLDER)
def new(folder: Path) -> None:
    """Lay out a small study to fill in, with comments, in the new or empty folder DIR."""
    from workbench.runs.new_study import new_study

    for path in new_study(folder):
        click.echo(f"wrote {path}")
    click.echo(f"Fill it in, then: workbench check {folder}")


def echo_json(answer: dict[str, Any]) -> None:
    """Print an answer as JSON."""
    click.echo(json.dumps(answer, indent=2, ensure_ascii=False, allow_nan=False))


def parameters_of(only: str | None, stated: tuple[str, ...]) -> dict[str, dict[str, Any]]:
    """Give the parameters written as `NAME=VALUE` for the notebook named."""
    from workbench.runs.plan import parameters_stated, shipped_notebooks

    return parameters_stated(shipped_notebooks(), only, stated)


def check_against(
    study: Path, draft: Path, *, as_json: bool, seed: int | None, engine: str | None
) -> None:
    """Print what is found in a draft; exit code 1 when something is."""
    from workbench.article.checking.check_draft import check_draft
    from workbench.runs.terminal import print_findings
    from workbench.study import DEFAULT_SEED, open_study

    opened = open_study(study, engine=engine)
    judgement = opened.judge(seed=DEFAULT_SEED if seed is None else seed)
    found = check_draft(draft, opened, judgement)
    if as_json:
        click.echo(json.dumps([one.to_json() for one in found], indent=2, ensure_ascii=False))
    else:
        print_findings(found)
    sys.exit(EXIT_FAULTS if found else 0)


def finish(summary: RunSummary) -> None:
    """Print what a run came to; exit code 1 when a notebook failed."""
    from workbench.runs.terminal import print_summary

    print_summary(summary)
    sys.exit(EXIT_FAULTS if summary.failed else 0)


def finish_batch(summary: BatchSummary) -> None:
    """Print what a batch came to; exit code 1 when an item failed."""
    from workbench.runs.terminal import print_batch

    print_batch(summary)
    sys.exit(EXIT_FAULTS if summary.failed else 0)
