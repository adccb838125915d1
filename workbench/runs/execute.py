"""One notebook run by papermill: its own time-out, and a failure told in words with its cell."""

from __future__ import annotations

import copy
import logging
import re
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from workbench.errors import RunError
from workbench.runs.notebook_libraries import load

if TYPE_CHECKING:
    from jupyter_client.manager import AsyncKernelManager

SECONDS_TO_START = 60
SECONDS_TO_SHOW = 60  # how long an output may be on its way after its cell has ended
INJECTED = "injected-parameters"
COLOURS = re.compile(r"\x1b\[[0-9;]*[A-Za-z]")
LINE_SHOWN = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """Why a notebook did not come to its end: `cell` counts from 1, None before the first."""

    notebook: str
    cell: int | None
    code: str
    reason: str

    @classmethod
    def at(cls, name: str, notebook: Any, index: int | None, reason: str) -> Failure:
        """Place a failure at the cell of `notebook` with this index."""
        if index is None:
            return cls(notebook=name, cell=None, code="", reason=reason)
        code = first_line(notebook.cells[index].source)
        return cls(notebook=name, cell=index + 1, code=code, reason=reason)

    def line(self) -> str:
        """Say it in one line."""
        place = "before its first cell" if self.cell is None else f"in cell {self.cell}"
        shown = f" ({self.code})" if self.code else ""
        return f"Notebook {self.notebook} failed {place}{shown}: {self.reason}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Executed:
    """A notebook as it stands after its run, complete or up to the cell that failed."""

    notebook: Any
    failure: Failure | None
    seconds: float


def execute(
    name: str,
    notebook: Any,
    parameters: Mapping[str, Any],
    *,
    manager: type[AsyncKernelManager],
    folder: Path,
    seconds: float,
    starting: Callable[[], None] = lambda: None,
) -> Executed:
    """Run `notebook` in `folder` with `parameters`, for `seconds` at most; nothing is written.

    Parameters
    ----------
    name : str
        What messages call the notebook.
    notebook : nbformat.NotebookNode
        Left as it is; the executed one is a copy.
    parameters : mapping
        Checked values of JSON's own types; see `parameters.checked`.
    manager : type
        From `kernels.open_kernels`.
    folder : Path
        The working folder of the kernel.
    seconds : float
        Time for the whole notebook, its kernel's start not counted.
    starting : callable
        Called once, when the kernel is there and the first cell about to start.
    """
    papermill, nbclient = load("papermill"), load("nbclient")
    logging.getLogger("papermill").setLevel(logging.CRITICAL)  # what it would say is said below
    watch = Watch(notebook=copy.deepcopy(notebook), seconds=seconds, starting=starting)
    begun = time.monotonic()
    reason = ""
    try:
        papermill.execute_notebook(
            watch.notebook,
            None,
            parameters=dict(parameters),
            kernel_name="python3",
            language="python",
            progress_bar=False,
            start_timeout=SECONDS_TO_START,
            kernel_manager_class=manager,
            shutdown_kernel="immediate",
            iopub_timeout=SECONDS_TO_SHOW,
            timeout_func=watch.time_left,
            on_notebook_start=watch.on_notebook_start,
            on_cell_start=watch.on_cell_start,
            resources={"metadata": {"path": str(folder)}},
        )
    except papermill.PapermillExecutionError as error:
        reason = f"{error.ename}: {first_line(error.evalue)}".rstrip(": ")
    except nbclient.exceptions.CellTimeoutError:
        reason = f"it was not done within the {seconds:g} s a notebook may take"
    except nbclient.exceptions.DeadKernelError:
        reason = "its kernel died (killed, out of memory, or crashed in a library)"
    except (RuntimeError, TimeoutError, OSError, RunError) as error:
        reason = f"its kernel could not be used: {first_line(str(error))}"
    done = without_marks(watch.notebook)
    return Executed(
        notebook=done,
        failure=Failure.at(name, done, watch.cell, reason) if reason else None,
        seconds=time.monotonic() - begun,
    )


class Watch:
    """What is known of a notebook while it runs, told by the hooks of nbclient."""

    def __init__(self, notebook: Any, seconds: float, starting: Callable[[], None]) -> None:
        self.notebook = notebook
        self.cell: int | None = None
        self.seconds = seconds
        self.starting = starting
        self.deadline = 0.0

    def on_notebook_start(self, notebook: Any) -> None:
        """Keep hold of papermill's own copy, which is what stands after a failure."""
        self.notebook = notebook
        self.deadline = time.monotonic() + self.seconds
        self.starting()

    def on_cell_start(self, cell: Any, cell_index: int) -> None:
        """Note the cell."""
        self.cell = cell_index

    def time_left(self, cell: Any) -> float:
        """Give what is left of the time of the whole notebook; nbclient takes 0 for no limit."""
        return max(self.deadline - time.monotonic(), 0.01)


def without_marks(notebook: Any) -> Any:
    """Take out what papermill leaves of itself: times, paths, markers, a random cell id."""
    result = copy.deepcopy(notebook)
    result.cells = [
        cell
        for cell in result.cells
        if "papermill-error-cell-tag" not in cell.metadata.get("tags", [])
    ]
    result.metadata.pop("papermill", None)
    for cell in result.cells:
        for key in ("papermill", "execution"):
            cell.metadata.pop(key, None)
        if not cell.metadata.get("tags", True):
            del cell.metadata["tags"]
        if INJECTED in cell.metadata.get("tags", []):
            cell.id = INJECTED
    return result


def first_line(text: str) -> str:
    """Give the first line that says something, without colours, shortened."""
    for line in COLOURS.sub("", text).splitlines():
        if line.strip():
            kept = "".join(sign if sign.isprintable() else " " for sign in line.strip())
            return kept if len(kept) <= LINE_SHOWN else kept[: LINE_SHOWN - 1] + "…"
    return ""
