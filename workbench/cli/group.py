"""The group of all commands, the options several of them share, and how a refusal ends."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from workbench.errors import WorkbenchError
from workbench.runs.collector import collect_rarely

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
    collect_rarely()


def echo_json(answer: dict[str, Any]) -> None:
    """Print an answer as JSON."""
    click.echo(json.dumps(answer, indent=2, ensure_ascii=False, allow_nan=False))
