"""The one tree of errors; each message says what, the bound, the value and the place."""

from __future__ import annotations


class WorkbenchError(Exception):
    """Anything the workbench refuses; command line and notebook show it without a traceback."""

    def _render_traceback_(self) -> list[str]:
        """Give the lines that a notebook shows in place of a traceback."""
        return [f"{type(self).__name__}: {self}"]


class StudyError(WorkbenchError):
    """The study cannot be opened: no folder, no readings, a file that is not what it says."""


class Refusal(WorkbenchError):
    """Too little, or the wrong kind of data, to answer: `code` for programs, a sentence for people.

    A refusal is an answer. A claim that meets one is `unresolved` with this reason.
    """

    def __init__(self, code: str, sentence: str) -> None:
        self.code = code
        super().__init__(sentence)


class RunError(WorkbenchError):
    """A headless run of notebooks failed; the message names the notebook and the cell."""
