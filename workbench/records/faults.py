"""What is wrong with a record, a setting or a claim, and exactly where."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from workbench.errors import StudyError

VALUE_SHOWN = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One fault: the place (file, row, column), the value found, a code and a sentence.

    `row` counts as a spreadsheet does: the header is row 1. It is None where the fault is of the
    file as a whole. `column` is the heading, or the key of a TOML file (`claim[2].margin`).
    """

    file: str
    row: int | None
    column: str
    value: str
    code: str
    sentence: str

    def line(self) -> str:
        """Give the fault as one line for a terminal, the value shortened, control signs shown."""
        place = self.file if self.row is None else f"{self.file}, row {self.row}"
        if self.column:
            place += f", {self.column}"
        shown = repr(self.value)[1:-1]
        if len(shown) > VALUE_SHOWN:
            shown = f"{shown[:VALUE_SHOWN]}… ({len(self.value)} characters)"
        found = f" (found “{shown}”)" if self.value else ""
        return f"{place}: {self.sentence}{found} [{self.code}]"


class FaultsError(StudyError):
    """A settings or claims file has faults; all of them are listed, each with its place."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(fault.line() for fault in self.faults))
