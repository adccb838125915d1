"""Commands that answer in the terminal: check, add, judge, worth, plan, place."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Literal

import click

from workbench.cli.group import (
    AS_OF,
    ENGINE,
    EXIT_CANNOT,
    EXIT_FAULTS,
    FOLDER,
    echo_json,
    main,
)


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
@click.option(
    "--looks",
    type=click.Choice(["obrien-fleming", "pocock"]),
    default="obrien-fleming",
    help="Looks on the way: strict early ones (the default), or all about alike.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the plans as JSON.")
@click.option("--seed", type=int, help="Seed of the resampling checks of the verdicts.")
@ENGINE
def plan(
    study: Path,
    claim: str | None,
    budget: float | None,
    half_width: float | None,
    looks: Literal["obrien-fleming", "pocock"],
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
        looks=looks,
    )
    if as_json:
        echo_json({"study": opened.title, **doubts_json(opened), **plan_json(answer)})
    else:
        print_plans(opened.title, answer, opened.doubts)


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
