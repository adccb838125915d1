"""What only shows between rows: a block in two families, equal rows, repeat numbers used twice.

A place is read once in a row of its own: family, block, bore, station, depth, quantity, unit,
gauge, calibration, operator, sampling, contact and day. Two rows of one place with one repeat
number and different values contradict each other: both are faults, as nothing says which is right.
Rows of one place that are equal in every column are one row written twice, and the later ones are
faults; but where a quantity's places are read several times without repeat numbers, equal readings
are to be expected and stay, with a notice.

Grouping rows by all of a place is slow, and of many millions takes more memory than the engine may
have. So places are told by a number of eight bytes first, a part of the numbers at a time; only
rows whose number is met twice are grouped by what they say, so the answer is the same.
"""
# ruff: noqa: S608 -- statements are put together from our own names, never from a user's text

from __future__ import annotations

from workbench.records.engine import Engine
from workbench.records.reduction import CELL_KEY

ROWS_AT_ONCE = 20_000_000
_PLACE = ", ".join((*CELL_KEY, "measured_on"))
_ALIKE = ", ".join(
    f"a.{name}" for name in (*CELL_KEY, "measured_on", "repeat", "micro", "decimals", "note")
)
_SAME_PLACE = " and ".join(f"a.{name} = b.{name}" for name in (*CELL_KEY, "measured_on", "repeat"))


def between_rows(engine: Engine, sound: str) -> int:
    """Find the faults between the rows of `sound`; give the number of equal rows kept.

    Makes the table `late` (file, row, column, value, code, about) and `accepted`, the rows without
    any.
    """
    engine.run(
        'create table late (file integer, row bigint, place integer, "column" varchar,'
        " value varchar, code varchar, about varchar)"
    )
    _block_families(engine, sound)
    without(engine, "settled", sound, "late")
    kept = _same_places(engine, "settled")
    without(engine, "accepted", sound, "late")
    return kept


def without(engine: Engine, name: str, rows: str, faults: str) -> None:
    """Name the rows that have no fault in a table as it now is."""
    left_out = ""
    if engine.rows(f"select 1 from {faults} limit 1"):
        left_out = (
            f" left join (select distinct file, row from {faults}) f"
            " on a.file = f.file and a.row = f.row where f.row is null"
        )
    engine.keep(name, f"select a.* from {rows} a{left_out}")


def _block_families(engine: Engine, sound: str) -> None:
    """Fault the rows of a block that name another family than most of its rows (first, if even)."""
    engine.run(
        "create table block_families as"
        " select block, family, row_number() over"
        " (partition by block order by n desc, file, row) as place"
        " from (select block, family, count(*) as n, min(file) as file, min(row) as row"
        f" from {sound} group by block, family)"
    )
    engine.run(
        "insert into late select a.file, a.row, 0, 'family', a.family, 'block_family', o.family"
        f" from {sound} a join block_families w on a.block = w.block and a.family = w.family"
        " join block_families o on a.block = o.block and o.place = 1 where w.place > 1"
    )


def _sharing(engine: Engine, sound: str, rows_at_once: int) -> str:
    """Name the rows that may share place and repeat number; all of few where most of them do."""
    (rows,) = engine.rows("select count(*) from raw")[0]
    parts = max(-(-int(rows) // rows_at_once), 1)
    number = engine.number_of((*CELL_KEY, "measured_on", "repeat"))
    engine.run(f"create table place_numbers as select {number} as place from {sound}")
    engine.run("create table met_twice (place ubigint, n bigint)")
    for part in range(parts):
        engine.run(
            "insert into met_twice select place, count(*) from place_numbers"
            f" where place % {parts} = {part} group by place having count(*) > 1"
        )
    engine.run("drop table place_numbers")
    (sharing,) = engine.rows("select coalesce(sum(n), 0) from met_twice")[0]
    if parts == 1 and 2 * sharing > rows:
        return sound
    engine.keep("sharing", f"select * from {sound} where {number} in (select place from met_twice)")
    return "sharing"


def _same_places(engine: Engine, settled: str) -> int:
    """Fault repeat numbers used twice and rows written twice; give how many equal rows stay."""
    sound = _sharing(engine, settled, ROWS_AT_ONCE)
    engine.run(
        "create table crowded as"
        f" select {_PLACE}, repeat, min(micro) < max(micro) as differ from {sound}"
        f" group by {_PLACE}, repeat having count(*) > 1"
    )
    if not engine.rows("select 1 from crowded limit 1"):
        return 0
    engine.run(
        "create table several as select distinct quantity, sampling from crowded"
        " where repeat = '' and differ"
    )
    engine.run(
        "create table suspects as select a.*, b.differ, row_number() over alike as copy,"
        " first_value(a.file) over alike as first_file, first_value(a.row) over alike as first_row"
        f" from {sound} a join crowded b on {_SAME_PLACE}"
        " left join several v on a.repeat = '' and a.quantity = v.quantity"
        " and a.sampling = v.sampling where a.repeat <> '' or v.quantity is null"
        f" window alike as (partition by {_ALIKE} order by a.file, a.row)"
    )
    engine.run(
        "insert into late select s.file, s.row, 0, '', '', 'duplicate_row',"
        " concat(f.name, ', row ', cast(s.first_row as varchar))"
        " from suspects s join files f on s.first_file = f.file where s.copy > 1"
    )
    engine.run(
        "insert into late select s.file, s.row, 0, 'repeat', s.repeat, 'repeat_conflict', ''"
        " from suspects s where s.repeat <> '' and s.differ and s.copy = 1"
    )
    kept = engine.rows(
        "select coalesce(sum(n - 1), 0) from (select count(*) as n"
        f" from {sound} a join several v on a.quantity = v.quantity and a.sampling = v.sampling"
        f" where a.repeat = '' group by {_ALIKE} having count(*) > 1)"
    )
    return int(kept[0][0])
