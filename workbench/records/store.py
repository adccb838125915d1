"""The records of a study as read: counts, faults, cells; and the folder they are kept in.

What intake finds is a folder of small files (cells, values, rejected rows, blocks, calibrations,
correlations and a summary), so a run of many notebooks reduces the readings once and opens the
folder many times.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pyarrow.parquet as pq

from workbench.errors import StudyError
from workbench.records.digests import Stamp, changed
from workbench.records.faults import Fault
from workbench.records.frames import text_frame
from workbench.records.notice import Notice
from workbench.records.reduction import CELL_KEY, SUMS, values_sql
from workbench.records.sentences import Sentences
from workbench.records.shelf import Shelf

FORMAT = 4
SUMMARY = "summary.json"
CELLS, VALUES, REJECTED = "cells.parquet", "values.parquet", "rejected.parquet"
BLOCKS, CALIBRATIONS = "blocks.parquet", "calibrations.parquet"
CORRELATIONS = "correlations.parquet"


@dataclass(frozen=True, slots=True, kw_only=True)
class FileCount:
    """How many rows of a file came in, and what became of them; blank rows are not counted."""

    file: str
    rows_in: int
    accepted: int
    rejected: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Records:
    """What was read from a study: `rows_in` is `accepted` plus `rejected`, always.

    `faults` holds the first ones only, `fault_count` says how many there are, and
    `rejected_rows()` gives them all. `cells` is the reduction: the columns of `CELL_KEY` as text,
    `step`, and the whole numbers `n`, `s1`, `s2`, `kmin`, `kmax`. `digests` are those of the files.
    """

    rows_in: int
    accepted: int
    rejected: int
    files: tuple[FileCount, ...]
    faults: tuple[Fault, ...]
    fault_count: int
    notices: tuple[Notice, ...]
    cells: pd.DataFrame
    blocks: pd.DataFrame
    calibrations: pd.DataFrame
    correlations: pd.DataFrame
    digests: Mapping[str, str]
    shelf: Shelf
    sentences: Sentences

    def rejected_rows(self) -> pd.DataFrame:
        """Give every fault of a row: file, row, column, value, code and sentence."""
        found = text_frame(pq.read_table(self.shelf.folder / REJECTED))
        found["sentence"] = self.sentences.of_frame(found)
        return found.drop(columns=["about", "said"])

    def values(self, quantity: str, by: Sequence[str] = ()) -> pd.DataFrame:
        """Give the distinct values of a quantity with their counts.

        Parameters
        ----------
        quantity
            The quantity.
        by
            Columns of `CELL_KEY` to keep apart.

        Returns
        -------
        pandas.DataFrame
            The columns `by`, then `unit`, `step`, `k` (the value in whole steps) and `n`.
        """
        unknown = [name for name in by if name not in CELL_KEY]
        if unknown:
            raise ValueError(f"by: “{unknown[0]}” is not one of {', '.join(CELL_KEY)}")
        keys = list(dict.fromkeys([*by, "unit"]))
        path = keep_values(self.shelf.folder)
        table = pq.read_table(
            path, columns=[*keys, "decimals", "k", "n"], filters=[("quantity", "=", quantity)]
        )
        grouped = table.group_by([*keys, "decimals", "k"]).aggregate([("n", "sum")])
        frame = text_frame(grouped).sort_values([*keys, "k"], ignore_index=True)
        frame["step"] = 10.0 ** -frame.pop("decimals").to_numpy(float)
        frame["n"] = frame.pop("n_sum").astype(np.int64)
        return frame[[*keys, "step", "k", "n"]]


def keep_values(folder: Path) -> Path:
    """Make the table of distinct values where the folder has it not yet; give its path."""
    path = folder / VALUES
    if not path.exists():
        from workbench.records.engine import Engine

        partial = path.with_suffix(".partial")
        with Engine(folder) as engine:
            engine.write(values_sql("stepped"), partial)
        partial.replace(path)
    return path


def save_reduced(records: Records, folder: Path) -> None:
    """Keep the reduction in `folder`, for `read_records(..., reduced=folder)` to open again."""
    keep_values(records.shelf.folder)
    folder.mkdir(parents=True, exist_ok=True)
    for name in (CELLS, VALUES, REJECTED, BLOCKS, CALIBRATIONS, CORRELATIONS, SUMMARY):
        shutil.copyfile(records.shelf.folder / name, folder / name)


def open_shelf(shelf: Shelf, sentences: Sentences) -> Records:
    """Open the folder of a reduction."""
    folder = shelf.folder
    summary = _summary(folder)
    cells = _frame(folder / CELLS)
    cells.insert(len(CELL_KEY), "step", 10.0 ** -cells.pop("decimals").to_numpy(float))
    return Records(
        rows_in=summary["rows_in"],
        accepted=summary["accepted"],
        rejected=summary["rows_in"] - summary["accepted"],
        files=tuple(FileCount(**item) for item in summary["files"]),
        faults=tuple(Fault(**item) for item in summary["faults"]),
        fault_count=summary["fault_count"],
        notices=tuple(Notice(**item) for item in summary["notices"]),
        cells=cells[[*CELL_KEY, "step", *SUMS]],
        blocks=_frame(folder / BLOCKS),
        calibrations=_frame(folder / CALIBRATIONS),
        correlations=_frame(folder / CORRELATIONS),
        digests={item["name"]: item["sha256"] for item in summary["stamps"] if item["sha256"]},
        shelf=shelf,
        sentences=sentences,
    )


def load_reduced(folder: Path, study: Path, inputs: Sequence[str], sentences: Sentences) -> Records:
    """Open a reduction kept by `save_reduced`, held to `check_inputs`."""
    check_inputs(folder, study, inputs)
    return open_shelf(Shelf(folder), sentences)


def check_inputs(folder: Path, study: Path, inputs: Sequence[str]) -> None:
    """Refuse a reduction in `folder` made from other files than the study's `inputs` are now."""
    stamps = [Stamp(**item) for item in _summary(folder)["stamps"]]
    known = {item.name for item in stamps}
    different = [*changed(study, stamps), *(name for name in inputs if name not in known)]
    if different:
        raise StudyError(
            f"The reduction in {folder} was made from other inputs: {', '.join(different)} "
            "changed since."
        )


def reduced_as_of(folder: Path) -> datetime | None:
    """Give the time for which a collection was read, where the reduction in `folder` has one."""
    stated = _summary(folder)["as_of"]
    return None if stated is None else datetime.fromisoformat(stated)


def _frame(path: Path) -> pd.DataFrame:
    """Read a whole file; `pq.read_table` would first import all that reads parts of many."""
    with pq.ParquetFile(path) as file:
        return text_frame(file.read())


def _summary(folder: Path) -> dict[str, Any]:
    try:
        summary: dict[str, Any] = json.loads((folder / SUMMARY).read_text(encoding="utf-8"))
        if summary["format"] != FORMAT:
            raise StudyError(f"The reduction in {folder} is of another version; make it again.")
    except (OSError, ValueError, KeyError, TypeError):
        raise StudyError(f"{folder} holds no reduction of readings.") from None
    return summary
