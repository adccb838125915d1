"""Commands that write folders: run, article, demo, new."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from workbench.cli.group import AS_OF, ENGINE, EXIT_FAULTS, FOLDER, main

if TYPE_CHECKING:
    from workbench.runs.batch import BatchSummary
    from workbench.runs.runner import RunSummary


@main.command()
@click.argument("studies", metavar="STUDY...", type=FOLDER, nargs=-1, required=True)
@click.option("--out", type=FOLDER, required=True, help="Folder for the report.")
@click.option(
    "--only", metavar="NAME", multiple=True, help="Run this notebook or claim; may be repeated."
)
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
    only: tuple[str, ...],
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

        options["only"] = only[0] if len(only) == 1 else None
        values = next(iter(given.values()), None)
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
@click.argument("folder", metavar="DIR", type=FOLDER)
def new(folder: Path) -> None:
    """Lay out a small study to fill in, with comments, in the new or empty folder DIR."""
    from workbench.runs.new_study import new_study

    for path in new_study(folder):
        click.echo(f"wrote {path}")
    click.echo(f"Fill it in, then: workbench check {folder}")


def parameters_of(only: tuple[str, ...], stated: tuple[str, ...]) -> dict[str, dict[str, Any]]:
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
