"""How a correction is written: the reading as it should be, and `was_` columns with what was wrong.

A row with anything in a `was_` column corrects the one reading that is as the `was_` columns say
and otherwise as the row; what the row says takes its place. Where `value` is empty the reading is
struck out and nothing takes its place. `mends` names a row that was rejected when it was added, as
`rejected.csv` beside the parts does; the row puts it right, or lets it go where `value` is empty.
"""
# ruff: noqa: S608 -- statements are put together from our own names, never from a user's text

from __future__ import annotations

from collections.abc import Iterable

import pyarrow as pa

from workbench.records.columns import COLUMNS, READINGS, Column
from workbench.records.engine import Engine

MENDS, WAS = "mends", "was_"
CORRECTED = tuple(name for name in COLUMNS if name != "note")
CORRECTING = (
    *(
        Column(
            name=f"{WAS}{column.name}",
            holds=f"`{column.name}` of the reading that is corrected",
            synonyms=tuple(f"{WAS}{name}" for name in column.synonyms),
        )
        for column in READINGS
        if column.name in CORRECTED
    ),
    Column(name=MENDS, holds="the rejected row that is put right"),
    Column(name="fault", holds="what was wrong with it; not read"),
)
_ANY = " || ".join(f"{WAS}{name}" for name in CORRECTED)
CORRECTS = f"({_ANY}) <> ''"


def set_corrections_aside(engine: Engine, open_rejected: Iterable[str]) -> None:
    """Prepare the corrections among the rows of `raw`.

    Each reading that is to be corrected is added to `raw` as it was, under the row number of its
    correction below zero, so that it is read by the rules of its file. Rows that only strike out
    are moved from `raw` to `strikes`. `open_rejected` has what `mends` may name.
    """
    was = ", ".join(
        f"case when {WAS}{name} <> '' then {WAS}{name} else {name} end" for name in CORRECTED
    )
    engine.run(
        f"insert into raw (file, row, exact, {', '.join(CORRECTED)}, note)"
        f" select file, -row, exact, {was}, '' from raw where {CORRECTS}"
    )
    striking = f"row > 0 and value = '' and ({CORRECTS} or {MENDS} <> '')"
    engine.run(f"create table strikes as select * from raw where {striking}")
    engine.run(f"delete from raw where {striking}")
    engine.table("open_rejected", {"id": pa.array(list(open_rejected), pa.string())})
