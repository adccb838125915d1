"""What the terminal shows of files added to a collection."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from workbench.records.collection.as_of import told
from workbench.runs.terminal import console, indented, safe, table

if TYPE_CHECKING:
    from workbench.records.collection.adding import Added


def print_added(added: Added) -> None:
    """Print what became of the rows of each file, the faults, and the time they are filed under."""
    out = console()
    shown = table("file", "rows in", "added", "held already", "struck out", "rejected")
    for one in added.files:
        counts = (one.rows_in, one.added, one.held, one.struck, one.rejected)
        shown.add_row(safe(one.name), *(str(count) for count in counts))
    out.print(shown)
    for notice in added.notices:
        out.print(indented("notice", f"{notice.sentence} [{notice.code}]"))
    for fault in added.faults:
        out.print(indented("fault", fault.line()))
    if added.fault_count > len(added.faults):
        out.print(f"… and {added.fault_count - len(added.faults)} more faults.")
    if added.clock:
        out.print(indented("notice", added.clock))
    addition = added.addition
    if addition is None:
        out.print("Nothing in them is new; nothing was written.")
        return
    corrected = sum(len(rows) for rows in addition.superseded.values())
    if corrected:
        many = "reading counts" if corrected == 1 else "readings count"
        out.print(f"{corrected} earlier {many} no more from here on; nothing is deleted.")
    if added.to_mend is not None:
        out.print("Rejected rows, as written; mend them there and add that file:")
        print(added.to_mend)
    out.print(Text(f"Added as {added.folder.name}/{addition.name} at {told(addition.added)}."))
