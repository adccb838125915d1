"""One pass over the readings of a study: its files in, the folder of a reduction out."""
# ruff: noqa: S608 -- statements are put together from our own names, never from a user's text

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime
from pathlib import Path

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from workbench.errors import StudyError
from workbench.records import reduction
from workbench.records.calibration_notices import calibration_notices
from workbench.records.collection.reading import Readings, bring_rejected, collection_notice
from workbench.records.columns import BLOCKS_FILE, CALIBRATIONS_FILE, CORRELATIONS_FILE
from workbench.records.correlations import read_correlations
from workbench.records.digests import Stamp
from workbench.records.distributed import reduce_with_spark
from workbench.records.engine import MEMORY_LIMIT_MB, SMALL, Engine
from workbench.records.engine_choice import SPARK, EngineAsked
from workbench.records.faults import Fault
from workbench.records.judging import gauges_of, judge_rows, keep_rejected
from workbench.records.loading import Findings, load_readings
from workbench.records.notices import notices_of
from workbench.records.places import between_rows
from workbench.records.sentences import Sentences
from workbench.records.settings import Settings
from workbench.records.sidefiles import family_faults, read_blocks, read_calibrations
from workbench.records.sources import optional_source
from workbench.records.store import (
    BLOCKS,
    CALIBRATIONS,
    CELLS,
    CORRELATIONS,
    FORMAT,
    REJECTED,
    SUMMARY,
    VALUES,
    FileCount,
)

FAULTS_SHOWN = 200


def read_through(
    folder: Path,
    found: Readings,
    settings: Settings,
    sentences: Sentences,
    shelf: Path,
    stamps: Sequence[Stamp],
    as_of: datetime | None,
    asked: EngineAsked,
    memory_limit_mb: int | None = None,
    threads: int | None = None,
    *,
    whole: bool = False,
) -> None:
    """Read everything of a study into the folder `shelf`; `stamps` are those of its files.

    A `whole` one has the table of distinct values too, which for many readings takes a while and
    is otherwise made when it is first asked for.
    """
    small = sum(source.weight for source in found.sources) < SMALL
    limit = MEMORY_LIMIT_MB if memory_limit_mb is None else memory_limit_mb
    with Engine(shelf, memory_limit_mb=limit, threads=threads, passing=small) as engine:
        findings = Findings()
        load_readings(engine, found.sources, settings, findings)
        calibrations, calibration_faults = read_calibrations(
            optional_source(folder, CALIBRATIONS_FILE), settings.gauges
        )
        judge_rows(engine, settings, gauges_of(settings, calibrations))
        kept = between_rows(engine, "sound")
        _reduce(engine, shelf, findings, asked)
        if found.past is not None:
            bring_rejected(engine, found.past)
            findings.note(found.name, "collection", collection_notice(found.past))
        keep_rejected(engine, shelf / REJECTED)
        blocks, block_faults = read_blocks(optional_source(folder, BLOCKS_FILE))
        met = engine.frame("select distinct block, family from cells order by family, block")
        findings.faults += [*block_faults, *family_faults(blocks, met), *calibration_faults]
        findings.notices += notices_of(engine, settings, kept, blocks, calibrations)
        findings.notices += calibration_notices(engine, settings, calibrations)
        said = blocks.drop(columns=["row", "family"])
        _write_frame(met.merge(said, on="block", how="left"), shelf / BLOCKS)
        _write_frame(calibrations, shelf / CALIBRATIONS)
        correlations, faults = read_correlations(
            optional_source(folder, CORRELATIONS_FILE), settings.correlations
        )
        findings.faults += faults
        _write_frame(correlations, shelf / CORRELATIONS)
        _summarise(engine, sentences, findings, stamps, shelf, as_of)
        if (small or whole) and not (shelf / VALUES).exists():
            engine.write(reduction.values_sql("stepped"), shelf / VALUES)


def _reduce(engine: Engine, shelf: Path, findings: Findings, asked: EngineAsked) -> None:
    """Reduce the accepted rows to cells, in whole steps of each quantity and unit."""
    found = engine.rows(reduction.steps_sql("accepted"))
    kept = [reduction.decimals_kept(written, largest) for _, _, written, largest in found]
    engine.table(
        "steps",
        {
            "quantity": pa.array([item[0] for item in found], pa.string()),
            "unit": pa.array([item[1] for item in found], pa.string()),
            "decimals": pa.array(kept, pa.int32()),
            "size": pa.array(
                [10 ** (reduction.DECIMALS_LIMIT - decimals) for decimals in kept], pa.int64()
            ),
        },
    )
    for (quantity, unit, written, _), decimals in zip(found, kept, strict=True):
        if decimals < written:
            findings.note(
                "readings",
                "rounded",
                f"{quantity} in {unit} is written with up to {written} decimals and was rounded "
                f"to {decimals}.",
            )
    engine.keep("stepped", reduction.stepped_sql("accepted", "steps"))
    if asked.name == SPARK:
        reduce_with_spark(engine, shelf, asked.address)
    else:
        engine.run(
            f"create table cells as {reduction.cells_sql('stepped')} order by {reduction.KEY}"
        )
    engine.write("select * from cells", shelf / CELLS)


def _write_frame(frame: pd.DataFrame, path: Path) -> None:
    pq.write_table(pa.Table.from_pandas(frame, preserve_index=False), path)


def _summarise(
    engine: Engine,
    sentences: Sentences,
    findings: Findings,
    stamps: Sequence[Stamp],
    shelf: Path,
    as_of: datetime | None,
) -> None:
    """Write the counts, the first faults and the notices."""
    counts = engine.rows(
        "select f.name, (select count(*) from raw r where r.file = f.file)"
        " + (select count(*) from ragged g where g.file = f.file)"
        " + (select count(distinct row) from brought b where b.file = f.file),"
        " (select count(*) from (select distinct row from rejected x where x.file = f.file))"
        " from files f order by f.file"
    )
    files = [
        FileCount(file=name, rows_in=rows, accepted=rows - rejected, rejected=rejected)
        for name, rows, rejected in counts
    ]
    accepted = engine.rows("select count(*) from accepted")[0][0]
    if accepted != sum(item.accepted for item in files):
        raise StudyError("The counts of the rows read do not agree; nothing was reduced.")
    for item in files:
        if not item.rows_in:
            findings.note(item.file, "no_rows", "The file has a header and no rows.")
    shown = engine.frame(
        'select f.name as file, r.row, r."column", r.value, r.code, r.about, r.said'
        " from rejected r join files f on r.file = f.file"
        f" order by r.file, r.row, r.place, r.code limit {FAULTS_SHOWN}"
    )
    shown["sentence"] = sentences.of_frame(shown)
    faults = [
        *findings.faults,
        *(
            Fault(file=file, row=row, column=column, value=value, code=code, sentence=sentence)
            for file, row, column, value, code, _, _, sentence in shown.itertuples(index=False)
        ),
    ]
    row_faults = engine.rows("select count(*) from rejected")[0][0]
    summary = {
        "format": FORMAT,
        "rows_in": sum(item.rows_in for item in files),
        "accepted": accepted,
        "files": [asdict(item) for item in files],
        "faults": [asdict(fault) for fault in faults[:FAULTS_SHOWN]],
        "fault_count": len(findings.faults) + row_faults,
        "notices": [asdict(notice) for notice in findings.notices],
        "stamps": [asdict(item) for item in stamps],
        "as_of": None if as_of is None else as_of.isoformat(),
    }
    (shelf / SUMMARY).write_text(json.dumps(summary, ensure_ascii=False), encoding="utf-8")
