"""Tables of what was read: counts by family and quantity, faults, notices."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from workbench.article.names import family_order, quantity_label
from workbench.article.tables import Table
from workbench.article.text import counted
from workbench.castings.calibration import Calibrations
from workbench.records.codes import CODES
from workbench.records.columns import BELOW
from workbench.records.coverage import coverage, gaps

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workbench.records.notice import Notice
    from workbench.records.settings import Settings
    from workbench.records.store import Records

COUNTED = ["blocks", "bores", "readings"]
MOST_ROWS = 40
FAULTS_SHOWN = 20
UNCALIBRATED = Calibrations()


def counts_table(records: Records, settings: Settings) -> Table:
    """Say how much was read of each quantity in each family, and what its grid lacks."""
    held = coverage(records)
    counts = {
        (quantity, family): tuple(numbers)
        for quantity, family, *numbers in held[["quantity", "family", *COUNTED]].to_numpy().tolist()
    }
    lacking = {(gap.quantity, gap.family): gap.sentence for gap in gaps(records, settings)}
    families = family_order(settings, records.cells["family"])
    rows = []
    for quantity in settings.quantities:
        if quantity not in set(held["quantity"]):
            continue
        for family in families:
            at = (quantity, family)
            blocks, bores, readings = counts.get(at, (0, 0, 0))
            rows.append(
                (
                    quantity_label(settings, quantity),
                    settings.family_label(family),
                    f"{blocks:,}",
                    f"{bores:,}" if bores or not readings else "–",
                    f"{readings:,}",
                    lacking.get(at, "whole"),
                )
            )
    return Table(
        caption="What was read, by quantity and family",
        columns=("Quantity", "Family", "Blocks", "Bores", "Readings", "Grid"),
        rows=tuple(rows[:MOST_ROWS]),
        numeric=(2, 3, 4),
        note=(
            f"{counted(records.rows_in, 'row')} in: {records.accepted:,} accepted, "
            f"{records.rejected:,} rejected."
            + excluded_words(records)
            + shortened(len(rows), MOST_ROWS, "row")
        ),
    )


def excluded_words(records: Records) -> str:
    """Say how many of the readings accepted enter no mean."""
    cells = records.cells
    searched = int(cells.loc[cells["sampling"] == "search", "n"].sum())
    doubtful = int(cells.loc[cells["contact"] == "doubtful", "n"].sum())
    below = int(cells.loc[cells["contact"] == BELOW, "n"].sum())
    censored = (
        f" So too {counted(below, 'reading')}, known only to be not above what was shown."
        if below
        else ""
    )
    return (
        f" Of those accepted, {counted(searched, 'reading')} on searched places and "
        f"{counted(doubtful, 'reading')} with doubtful contact enter no mean.{censored}"
    )


def fault_counts_table(records: Records, calibrations: Calibrations = UNCALIBRATED) -> Table:
    """Say how many faults of each kind there are; all of them are counted."""
    rows = records.rejected_rows()
    of_rows = rows["code"].value_counts()
    files = {item.file for item in records.files}
    others = [fault for fault in records.faults if fault.row is None or fault.file not in files]
    others += calibrations.faults
    kinds = [(str(code), f"{count:,}", "row") for code, count in of_rows.items()]
    kinds += [
        (code, f"{count:,}", file)
        for (code, file), count in Counter((fault.code, fault.file) for fault in others).items()
    ]
    count = records.fault_count + len(calibrations.faults)
    return Table(
        caption="Faults by kind",
        columns=("Code", "What it means", "Number", "Of"),
        rows=tuple((code, meaning_of(code), number, of) for code, number, of in kinds[:MOST_ROWS]),
        numeric=(2,),
        note=f"{counted(count, 'fault')} in all; a row may have several."
        + shortened(len(kinds), MOST_ROWS, "kind"),
    )


def meaning_of(code: str) -> str:
    """Say in words what a code of the records means."""
    return CODES[code][1] if code in CODES else ""


def faults_table(
    records: Records, calibrations: Calibrations = UNCALIBRATED, shown: int = FAULTS_SHOWN
) -> Table:
    """List the first faults with their places, those of calibrations before those of rows."""
    faults = (*calibrations.faults, *records.faults)
    count = len(calibrations.faults) + records.fault_count
    rows = tuple(
        (
            fault.file,
            "" if fault.row is None else str(fault.row),
            fault.column,
            fault.value,
            fault.sentence,
        )
        for fault in faults[:shown]
    )
    return Table(
        caption="Faults, each with its place",
        columns=("File", "Row", "Column", "Found", "What is wrong"),
        rows=rows,
        numeric=(1,),
        note=(
            f"The first {len(rows)} of {counted(count, 'fault')}; "
            "`workbench check STUDY --rejected FILE` writes them all."
            if count > len(rows)
            else f"{counted(count, 'fault')} in all."
        ),
    )


def notices_table(notices: Sequence[Notice]) -> Table:
    """List what a reader of the records should know that is no fault."""
    rows = tuple((notice.file, notice.sentence) for notice in notices)
    return Table(
        caption="Notices",
        columns=("File", "What was noticed"),
        rows=rows[:MOST_ROWS],
        note=shortened(len(rows), MOST_ROWS, "notice").strip() or ("" if rows else "None."),
    )


def shortened(count: int, most: int, noun: str) -> str:
    """Say that a table shows the first rows only; empty where it shows all."""
    return f" The first {most} of {counted(count, noun)} are shown." if count > most else ""
