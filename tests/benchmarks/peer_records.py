"""Intake and reduction beside the bare engine, pandas and Spark, on a million invented readings."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import bench_intake
from peer_time import Way, spent

READINGS = 1_000_000


def intake(name: str) -> Way:
    """Give a way of taking a file of readings in, with its imports."""

    def way() -> float:
        with tempfile.TemporaryDirectory() as place:
            bench_intake.write_study(Path(place), READINGS)
            return spent(lambda: bench_intake.WAYS[name](Path(place)))

    return way


def reduction(name: str) -> Way:
    """Give a way of reducing readings that are loaded and found sound already."""

    def way() -> float:
        import duckdb

        from workbench.records.reduction import CELL_KEY, KEY, cells_sql, stepped_sql

        with duckdb.connect() as engine:
            engine.execute("set enable_progress_bar = false")
            raw = bench_intake.readings(0, READINGS)
            engine.register("raw", raw)
            held = ", ".join(
                name if name in raw.column_names else f"'' as {name}" for name in CELL_KEY
            )
            engine.execute(
                f"create table accepted as select {held}, try_cast(value as double) as v,"
                " cast(round(v * 1000000) as bigint) as micro from raw where v is not null"
            )
            engine.execute(
                "create table steps as select 'wall_thickness' as quantity, 'mm' as unit,"
                " 2 as decimals, 10000 as size"
            )
            key = KEY
            ours = cells_sql(f"({stepped_sql('accepted', 'steps')})")
            bare = (
                f"select {key}, count(*), sum(v), sum(v * v), min(v), max(v) from accepted"
                f" group by {key}"
            )
            if name == "pandas":
                frame = engine.execute("select * from accepted").df().assign(v2=lambda f: f.v**2)
                return spent(
                    lambda: frame.groupby(list(CELL_KEY)).agg(
                        n=("v", "count"), s1=("v", "sum"), s2=("v2", "sum"),
                        low=("v", "min"), high=("v", "max"),
                    )
                )  # fmt: skip
            statement = {"ours": ours, "ordered": f"{ours} order by {key}", "bare": bare}[name]
            return spent(lambda: engine.sql(statement).to_arrow_table(), 3)

    return way


def spark_reads() -> float:
    """Take a file of readings in as `intake`, with the reduction on Spark, its start counted."""
    from workbench.records.intake import read_records
    from workbench.records.settings import load_settings

    os.environ.setdefault("JAVA_TOOL_OPTIONS", "-Xlog:disable")
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        bench_intake.write_study(folder, READINGS)
        settings = load_settings(folder)
        return spent(lambda: read_records(folder, settings, engine="local[2]"))
