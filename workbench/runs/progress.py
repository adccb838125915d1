"""What a run says while it works: one bar on a terminal, a line a notebook anywhere else."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Iterator
from typing import Protocol


class Progress(Protocol):
    """Told what happens; may be told from several threads."""

    def plan(self, total: int) -> None:
        """Take the number of notebooks."""

    def done(self, name: str, seconds: float, failure: str) -> None:
        """Take one notebook that has ended, with why it failed if it did."""

    def skipped(self) -> None:
        """Take one that an earlier run has done."""


class Silence:
    """Says nothing."""

    def plan(self, total: int) -> None:
        """Say nothing."""

    def done(self, name: str, seconds: float, failure: str) -> None:
        """Say nothing."""

    def skipped(self) -> None:
        """Say nothing."""


class Lines:
    """One line a notebook: what a log can keep."""

    def __init__(self) -> None:
        self.total = 0
        self.count = 0

    def plan(self, total: int) -> None:
        """Take the number of notebooks."""
        self.total = total

    def done(self, name: str, seconds: float, failure: str) -> None:
        """Write the line at once."""
        self.count += 1
        end = failure or f"done in {seconds:.1f} s"
        sys.stderr.write(f"[{self.count}/{self.total}] {name}: {end}\n")
        sys.stderr.flush()

    def skipped(self) -> None:
        """Count it; the summary says how many there were."""
        self.count += 1


class Bar:
    """A bar that moves; failures stand above it."""

    def __init__(self, bar: object) -> None:
        from rich.progress import Progress as RichProgress

        assert isinstance(bar, RichProgress)
        self.bar = bar
        self.task = bar.add_task("reading the records", total=None)

    def plan(self, total: int) -> None:
        """Set the length of the bar."""
        self.bar.update(self.task, total=total, description="running")

    def done(self, name: str, seconds: float, failure: str) -> None:
        """Move the bar by one."""
        from rich.text import Text

        if failure:
            self.bar.console.print(Text(f"{name}: {failure}"))
        self.bar.update(self.task, advance=1)

    def skipped(self) -> None:
        """Move the bar by one."""
        self.bar.update(self.task, advance=1)


@contextlib.contextmanager
def shown_progress(wanted: bool) -> Iterator[Progress]:
    """Give what is to be told; all of it goes to standard error."""
    if not wanted:
        yield Silence()
    elif not sys.stderr.isatty():
        yield Lines()
    else:
        from rich.console import Console
        from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeElapsedColumn
        from rich.progress import Progress as RichProgress

        columns = (
            TextColumn("{task.description}", markup=False),
            BarColumn(),
            MofNCompleteColumn(),
            TimeElapsedColumn(),
        )
        with RichProgress(*columns, console=Console(stderr=True), transient=True) as bar:
            yield Bar(bar)
