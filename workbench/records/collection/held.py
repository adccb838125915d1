"""New rows against what a collection holds: what it has already, contradicts, or corrects.

A reading is held already when one of its place, day, repeat number and value is; of several alike
in a file as many are new as the collection has not. So a file that grew may be added whole.
"""
# ruff: noqa: S608 -- statements are put together from our own names, never from a user's text

from __future__ import annotations

from collections.abc import Sequence

import duckdb
import pyarrow as pa

from workbench.errors import StudyError
from workbench.records.collection.additions import History
from workbench.records.collection.corrections import CORRECTS, MENDS
from workbench.records.columns import COLUMNS
from workbench.records.engine import Engine
from workbench.records.reduction import CELL_KEY

PLACE = (*CELL_KEY, "measured_on", "repeat")
SAME = (*PLACE, "micro")
_SAME = ", ".join(SAME)


def equal(left: str, right: str, columns: Sequence[str]) -> str:
    """Give the condition that two tables agree in all of the columns."""
    return " and ".join(f"{left}.{name} = {right}.{name}" for name in columns)


def load_held(engine: Engine, past: History, first: int) -> tuple[str, ...]:
    """Add to `raw` what the collection holds of the blocks met, without what was corrected.

    The parts are files numbered from `first` on; their paths in the collection are the answer.
    """
    paths = tuple(past.parts)
    if not paths:
        return ()
    number = {path: at for at, path in enumerate(paths, first)}
    full = [(past.folder / path).as_posix() for path in paths]
    engine.table(
        "held_files",
        {"file": pa.array(list(number.values()), pa.int32()), "path": pa.array(full, pa.string())},
    )
    gone = [
        (number[path], row)
        for path, rows in past.superseded.items()
        for row in rows
        if path in number  # a record may come from a stranger
    ]
    engine.table(
        "gone",
        {
            "file": pa.array([file for file, _ in gone], pa.int32()),
            "row": pa.array([row for _, row in gone], pa.int64()),
        },
    )
    texts = ", ".join(f"p.{name}" for name in COLUMNS)
    engine.run(
        "create table blocks_met as select distinct block from raw union select block from strikes"
    )
    held = (
        f"insert into raw (file, row, exact, {', '.join(COLUMNS)})"
        f" select h.file, p.file_row_number + 2, true, {texts} from"
        " read_parquet(?, filename = true, file_row_number = true, hive_partitioning = false) p"
        " join held_files h on p.filename = h.path"
        " left join gone g on h.file = g.file and p.file_row_number + 2 = g.row"
        " where g.row is null and p.block in (select block from blocks_met)"
    )
    try:
        engine.run(held, [[_literal(path) for path in full]])
    except duckdb.Error as error:
        said = str(error).splitlines()[0]
        raise StudyError(f"The collection {past.folder.name} cannot be read: {said}") from None
    engine.run("insert into files select file, path, '', false, '' from held_files")
    return paths


def _literal(path: str) -> str:
    """Give a path in which no sign stands for several files."""
    return "".join(f"[{sign}]" if sign in "*?[" else sign for sign in path)


def hold_against(engine: Engine, first_held: int) -> None:
    """Hold the accepted new rows against what is held; `sound` has both.

    Makes `taken` (rows that are new), `again` (rows held already) and `corrects` (file and row of a
    correction, and of the reading it supersedes); what contradicts the collection goes to `late`.
    """
    engine.run(
        f"create table held as select *, row_number() over (partition by {_SAME}"
        f" order by file, row) as copy from sound where file >= {first_held}"
    )
    engine.run(
        f"create table wrong as select *, row_number() over (partition by {_SAME}"
        " order by file, row desc) as copy from sound where row < 0"
    )
    engine.run(
        "create table corrects as select w.file, -w.row as row, h.file as held_file,"
        " h.row as held_row from wrong w join held h on w.copy = h.copy"
        f" and {equal('w', 'h', SAME)}"
    )
    asked = f"select file, row, {CORRECTS} as correcting, {MENDS} as mends from"
    engine.run(
        "create table asked as select a.* from"
        f" ({asked} strikes union all {asked} raw where row > 0 and file < {first_held}"
        f" and ({CORRECTS} or {MENDS} <> '')) a"
        " left join (select distinct file, row from row_faults) f"
        " on a.file = f.file and a.row = f.row where f.file is null"
    )
    _late(
        engine,
        "'', '', 'nothing_to_correct', '' from asked a left join corrects c"
        " on a.file = c.file and a.row = c.row where a.correcting and c.file is null",
    )
    _late(
        engine,
        "'mends', a.mends, 'nothing_to_mend', '' from asked a left join open_rejected o"
        " on a.mends = o.id where a.mends <> '' and o.id is null",
    )
    while _contradictions(engine):
        pass
    engine.run(
        "create table taken as select f.* from fresh f left join again a"
        " on f.file = a.file and f.row = a.row where a.file is null"
    )


def _late(engine: Engine, found: str) -> None:
    engine.run(f"insert into late select distinct a.file, a.row, 0, {found}")


def _contradictions(engine: Engine) -> bool:
    """Find what contradicts the rows that stand; tell whether anything did.

    A correction that does not count lets the reading stand that it was to supersede, so this is
    asked until nothing more is found.
    """
    engine.run(
        "create or replace table fresh as select a.*, c.file is not null as correcting"
        " from accepted a left join (select distinct file, row from late) l"
        " on a.file = l.file and a.row = l.row left join corrects c"
        " on a.file = c.file and a.row = c.row where l.file is null"
    )
    engine.run(
        "create or replace table superseded as select c.held_file as file, c.held_row as row,"
        " c.file as by_file, c.row as by_row from corrects c join"
        " (select file, row from fresh where correcting union all"
        " select s.file, s.row from strikes s left join late l on s.file = l.file"
        " and s.row = l.row where l.file is null) f on c.file = f.file and c.row = f.row"
    )
    engine.run(
        "create or replace table standing as select h.* from held h left join superseded s"
        " on h.file = s.file and h.row = s.row where s.file is null"
    )
    engine.run(
        "create or replace table again as select f.file, f.row, f.correcting from"
        f" (select *, row_number() over (partition by {_SAME} order by correcting, file, row)"
        f" as copy from fresh) f join (select {_SAME}, count(*) as held from standing"
        f" group by {_SAME}) s on f.copy <= s.held and {equal('f', 's', SAME)}"
    )
    (before,) = engine.rows("select count(*) from late")[0]
    _late(
        engine,
        "'family', a.family, 'block_family', s.family from fresh a join"
        " (select block, min(family) as family from standing group by block) s"
        " on a.block = s.block and a.family <> s.family",
    )
    _late(
        engine,
        "'repeat', a.repeat, 'held_otherwise', '' from fresh a join"
        f" (select distinct {_SAME} from standing where repeat <> '') s"
        f" on a.micro <> s.micro and {equal('a', 's', PLACE)}",
    )
    _late(engine, "'', '', 'already_held', '' from again a where a.correcting")
    (after,) = engine.rows("select count(*) from late")[0]
    return bool(after > before)
