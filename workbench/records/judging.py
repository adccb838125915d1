"""Judge the rows of the readings by the row rules, and keep what is wrong with each."""
# ruff: noqa: S608 -- statements are put together from our own names, never from a user's text

from __future__ import annotations

from pathlib import Path

import pandas as pd

from workbench.records.engine import Engine
from workbench.records.known import known_sql, odd_columns
from workbench.records.lookups import fill_lookups
from workbench.records.meanings import fill_meanings
from workbench.records.numbers import evidence_sql, looks_sql, numbers_sql
from workbench.records.places import without
from workbench.records.rules import faults_sql, mask_sql, row_rules
from workbench.records.settings import Settings
from workbench.records.unkept import find_unkept


def gauges_of(settings: Settings, calibrations: pd.DataFrame) -> frozenset[str]:
    """Give every gauge the study names beside its readings; none where it leaves them open."""
    stated = (table.gauge for table in settings.calibrations.values() if table.gauge)
    return frozenset([*settings.gauges, *calibrations["gauge"], *stated])


def judge_rows(engine: Engine, settings: Settings, gauges: frozenset[str]) -> None:
    """Judge each row of `raw` by the rules.

    `sound` has those without a fault of their own, `row_faults` every fault of the others.
    """
    rules = row_rules(settings)
    engine.run(f"create table looks as {looks_sql('raw')}")
    engine.run(f"create table evidence as {evidence_sql('looks')}")
    engine.run(f"create table numbers as {numbers_sql('looks', 'evidence', 'files')}")
    fill_lookups(engine, "raw", settings, gauges)
    meanings = fill_meanings(engine, "raw", settings)
    odd = odd_columns(engine, "raw")
    engine.keep("known", known_sql("raw", odd, meanings))
    engine.run(
        "create table marked as select file, row, mask from"
        f" (select file, row, {mask_sql(rules)} as mask from known) where mask <> 0"
    )
    engine.keep(
        "readable",
        "select file, row, family, block, bore,"
        " coalesce(place, station) as station, height as depth, known_quantity as quantity,"
        " known_unit as unit, gauge, calibration, operator, known_sampling as sampling,"
        " known_contact as contact, measured_on, repeat, note, micro, decimals from known",
    )
    find_unkept(engine, settings, "readable")
    without(engine, "within_kept", "readable", "unkept")
    without(engine, "sound", "within_kept", "marked")
    (seen,) = engine.rows("select coalesce(bit_or(mask), 0) from marked")[0]
    broken = tuple(rule for at, rule in enumerate(rules) if seen >> at & 1)
    looked_at = "known"
    if broken:  # else a statement over all that is known of each row, for no row
        engine.run(
            "create table faulty as select r.* from raw r"
            " join marked m on r.file = m.file and r.row = m.row"
        )
        engine.run(f"create table known_faulty as {known_sql('faulty', odd, meanings)}")
        looked_at = "known_faulty"
    engine.run(f"create table row_faults as {faults_sql(broken, looked_at)}")


def gather_rejected(engine: Engine) -> None:
    """Make the table `rejected`: every fault of a row.

    `said` is what was said of a row when it was rejected earlier, else the empty text.
    """
    engine.run(
        "create table rejected as"
        " select file, row, place, \"column\", value, code, '' as about, '' as said from row_faults"
        " union all select file, row, 0, '', value, 'ragged_row', '', '' from ragged"
        " union all select file, row, place, \"column\", value, code, about, '' from unkept"
        " union all select file, row, place, \"column\", value, code, about, '' from late"
        " union all select file, row, place, \"column\", value, code, '', said from brought"
    )


def keep_rejected(engine: Engine, path: Path) -> None:
    """Keep every fault of a row in a file, in the order of the files, and as a table."""
    gather_rejected(engine)
    engine.write(
        'select f.name as file, r.row, r."column", r.value, r.code, r.about, r.said'
        " from rejected r join files f on r.file = f.file order by r.file, r.row, r.place, r.code",
        path,
    )
