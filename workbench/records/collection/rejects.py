"""What was rejected when it was added: kept beside the parts, until it is put right or let go."""
# ruff: noqa: S608 -- statements are put together from our own names, never from a user's text

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from workbench.records.collection.additions import FAULTS, REJECTED, TO_MEND, History
from workbench.records.collection.corrections import MENDS
from workbench.records.columns import COLUMNS
from workbench.records.engine import Engine
from workbench.records.faults import Fault
from workbench.records.judging import gather_rejected
from workbench.records.sentences import Sentences

SHOWN = 40
FAULT = "fault"
SCHEMA = pa.schema(
    [
        ("number", pa.int64()),
        ("file", pa.string()),
        ("row", pa.int64()),
        *((name, pa.string()) for name in ("column", "value", "code", "said", "written")),
    ]
)
_TEXTS = ", ".join(COLUMNS)
_DIGEST = f"sha256(concat_ws(chr(31), {_TEXTS}))"
_ROW = f"select file, row, {_DIGEST} as written, {MENDS}, {_TEXTS} from"
_NO_COLUMNS = ", ".join(f"'' as {name}" for name in COLUMNS if name != "note")
_AS_WRITTEN = (
    f"{_ROW} (select * from raw where row > 0) union all {_ROW} strikes union all"
    f" select file, row, sha256(value) as written, '' as {MENDS}, {_NO_COLUMNS}, value as note"
    " from ragged"
)


def open_rejects(past: History) -> Mapping[str, str]:
    """Give the rows that were rejected and not put right since: their digests by what `mends` says.

    Equal rows are several.
    """
    found = {}
    for addition in past.additions:
        if FAULTS in addition.kept:
            path = past.folder / addition.name / FAULTS
            table = pq.read_table(path, columns=["number", "written"]).to_pydict()
            for number, written in zip(table["number"], table["written"], strict=True):
                name = f"{addition.number}-{number}"
                if name not in past.mended:
                    found[name] = str(written)
    return found


def keep_rejects(
    engine: Engine,
    sentences: Sentences,
    before: Mapping[str, str],
    number: int,
    folder: Path,
) -> tuple[tuple[Fault, ...], int, dict[str, int]]:
    """Keep the rejected rows as written and what is wrong with them, but those kept before.

    Parameters
    ----------
    engine
        Holds the tables of intake, and `strikes`.
    sentences
        What is said of a fault.
    before
        From `open_rejects`: a row as written there is not kept again, unless it was to mend one.
    number
        That of the addition.
    folder
        Where to write.

    Returns
    -------
    tuple
        The first faults, how many there are, and the rows of each file written for good; beside
        these is the copy to mend, which nothing rests on.
    """
    gather_rejected(engine)
    rows = engine.frame(
        f"select x.file as at, x.row, w.written, w.{MENDS}, {_TEXTS} from"
        f" (select distinct file, row from rejected) x join ({_AS_WRITTEN}) w"
        " on x.file = w.file and x.row = w.row order by x.file, x.row"
    )
    faults = engine.frame(
        'select r.file as at, f.name as file, r.row, r."column", r.value, r.code, r.about, r.said'
        " from rejected r join files f on r.file = f.file order by r.file, r.row, r.place, r.code"
    )
    faults["said"] = sentences.of_frame(faults)
    columns = ["file", "row", "column", "value", "code", "said"]
    shown = tuple(
        Fault(file=file, row=row, column=column, value=value, code=code, sentence=sentence)
        for file, row, column, value, code, sentence in zip(
            *(faults[name].head(SHOWN).tolist() for name in columns), strict=True
        )
    )
    new = rows[~rows["written"].isin(list(before.values())) | rows[MENDS].isin(list(before))]
    if new.empty:
        return shown, len(faults), {}
    new = new.assign(number=range(1, len(new) + 1))
    mine = faults.merge(new[["at", "row", "number", "written"]], on=["at", "row"])
    table = pa.Table.from_pandas(mine[list(SCHEMA.names)], schema=SCHEMA, preserve_index=False)
    pq.write_table(table, folder / FAULTS)
    as_written = pa.Table.from_pandas(new[["number", *COLUMNS]], preserve_index=False)
    pq.write_table(as_written, folder / REJECTED)
    to_mend = new.assign(
        **{MENDS: [f"{number}-{one}" for one in new["number"]], FAULT: _told(new, mine)}
    )
    to_mend[[MENDS, *COLUMNS, FAULT]].to_csv(folder / TO_MEND, index=False)
    return shown, len(faults), {FAULTS: table.num_rows, REJECTED: len(new)}


def _told(rows: pd.DataFrame, faults: pd.DataFrame) -> list[str]:
    """Say of each row where it stood and what was wrong with it."""
    column = (faults["column"] + ": ").where(faults["column"] != "", "")
    said = (column + faults["said"]).groupby(faults["number"]).agg(" ".join)
    first = faults.groupby("number")[["file", "row"]].first()
    place = first["file"] + ", row " + first["row"].astype(str) + ": "
    return (place + said).loc[rows["number"]].tolist()
