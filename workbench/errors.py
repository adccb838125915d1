"""The one tree of errors; each message says what, the bound, the value and the place."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from workbench.records.faults import Fault


class WorkbenchError(Exception):
    """Anything the workbench refuses; the command line prints it without a traceback."""


class StudyError(WorkbenchError):
    """The study cannot be opened: no folder, no readings, a file that is not what it says."""


class FaultsError(StudyError):
    """A settings or claims file has faults; all of them are listed, each with its place."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(fault.line() for fault in self.faults))


class Refusal(WorkbenchError):
    """Too little, or the wrong kind of data, to answer: `code` for programs, a sentence for people.

    A refusal is an answer. A claim that meets one is `unresolved` with this reason.
    """

    def __init__(self, code: str, sentence: str) -> None:
        self.code = code
        super().__init__(sentence)


class RunError(WorkbenchError):
    """A headless run of notebooks failed; the message names the notebook and the cell."""
