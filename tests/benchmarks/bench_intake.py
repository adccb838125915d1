"""Time and memory of reading records against two bare peers, in one run.

Run ``python tests/benchmarks/bench_intake.py [READINGS]`` (a million when left out). Each way runs
in a process of its own, on the same file of invented walls; a few rows in ten thousand are faulty.

ours      read_records: every row judged by all rules, equal rows and block families looked for,
          reduced to exact cells, with the limit of memory the package sets
again     the same records opened from a reduction kept before
engine    DuckDB alone: read_csv into a table, then count, sum and sum of squares of each cell in
          floating point; no rule
pandas    read_csv, then the row rules by hand on columns, then a group by
"""

from __future__ import annotations

import multiprocessing
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.csv

STATIONS = np.array(["front", "thrust", "rear", "counter"])
READINGS_A_BLOCK = 168  # 6 bores, 4 stations, 7 repeats
FAULTY = 0.0003
KEY = ["family", "block", "bore", "station", "quantity", "unit", "gauge", "operator"]


def write_study(folder: Path, count: int) -> None:
    """Write a study with `count` readings, a million at a time."""
    (folder / "study.toml").write_text('title = "Invented walls"\n', encoding="utf-8")
    with pa.OSFile(str(folder / "readings.csv"), "wb") as file:
        for start in range(0, count, 1_000_000):
            table = readings(start, min(start + 1_000_000, count))
            options = pa.csv.WriteOptions(include_header=start == 0, quoting_style="none")
            pa.csv.write_csv(table, file, options)


def readings(start: int, stop: int) -> pa.Table:
    """Draw readings `start` to `stop`: a place is read seven times, numbered."""
    rng = np.random.default_rng(start)
    at = np.arange(start, stop)
    block = at // READINGS_A_BLOCK
    steps = 520 + rng.integers(-60, 60, len(at))
    value = np.char.add(np.char.mod("%d.", steps // 100), np.char.mod("%02d", steps % 100))
    value = np.where(rng.random(len(at)) < FAULTY, "no reading", value)
    return pa.table(
        {
            "block": np.char.mod("B%07d", block),
            "family": np.array(["works", "deepdeck", "trophy"])[block % 3],
            "quantity": np.full(len(at), "wall_thickness"),
            "value": value,
            "unit": np.full(len(at), "mm"),
            "bore": np.char.mod("%d", at // 28 % 6 + 1),
            "station": STATIONS[at // 7 % 4],
            "gauge": np.array(["ug1", "ug2"])[block % 2],
            "operator": np.array(["north", "south"])[block % 2],
            "repeat": np.char.mod("%d", at % 7 + 1),
        }
    )


def ours(folder: Path) -> int:
    """Read the records as the package does."""
    from workbench.records.intake import read_records
    from workbench.records.settings import load_settings

    records = read_records(folder, load_settings(folder))
    return len(records.cells)


def keep(folder: Path) -> int:
    """Read the records and keep the reduction, for `again`."""
    from workbench.records.intake import read_records, save_reduced
    from workbench.records.settings import load_settings

    records = read_records(folder, load_settings(folder))
    save_reduced(records, folder / "kept")
    return len(records.cells)


def again(folder: Path) -> int:
    """Open the reduction kept."""
    from workbench.records.intake import read_records
    from workbench.records.settings import load_settings

    records = read_records(folder, load_settings(folder), reduced=folder / "kept")
    return len(records.cells)


def engine(folder: Path) -> int:
    """Load and reduce with the engine alone."""
    import duckdb

    with duckdb.connect(str(folder / "bare.db"), config={"memory_limit": "512MB"}) as connection:
        connection.execute("set enable_progress_bar = false")
        connection.execute(
            "create table raw as select * from read_csv(?, all_varchar = true)",
            [str(folder / "readings.csv")],
        )
        key = ", ".join(KEY)
        cells = connection.sql(
            f"select {key}, count(*), sum(v), sum(v * v)"
            " from (select *, try_cast(value as double) as v from raw) where v is not null"
            f" group by {key}"
        ).to_arrow_table()
    (folder / "bare.db").unlink()
    return int(cells.num_rows)


def pandas(folder: Path) -> int:
    """Load, check by hand and reduce with data frames."""
    import pandas as pd

    frame = pd.read_csv(folder / "readings.csv", dtype=str, keep_default_na=False)
    value = pd.to_numeric(frame["value"], errors="coerce")
    bad = value.isna() | (value <= 0) | (value > 10_000)
    for name in ("block", "family", "quantity", "unit"):
        bad |= frame[name] == ""
    bad |= ~frame["quantity"].isin(["wall_thickness", "mass"]) | ~frame["unit"].isin(["mm", "in"])
    for name in frame.columns:
        bad |= frame[name].str.len() > 100
        bad |= frame[name].str.contains("[\x00-\x1f]", regex=True)
    bad |= frame.duplicated()
    sound = frame[~bad].assign(v=value[~bad], v2=value[~bad] ** 2)
    return len(sound.groupby(KEY).agg(n=("v", "count"), s1=("v", "sum"), s2=("v2", "sum")))


WAYS: dict[str, Callable[[Path], int]] = {
    "ours": ours,
    "again": again,
    "engine": engine,
    "pandas": pandas,
}


def measure(way: Callable[[Path], int], folder: Path) -> tuple[float, float, int]:
    """Run a way in a process of its own: seconds with imports, peak memory in MB, cells."""
    here, there = multiprocessing.Pipe()
    process = multiprocessing.get_context("spawn").Process(target=_run, args=(there, way, folder))
    process.start()
    there.close()
    answer: tuple[float, float, int] = here.recv()
    process.join()
    return answer


def _run(pipe: Connection, way: Callable[[Path], int], folder: Path) -> None:
    start = time.perf_counter()
    cells = way(folder)
    seconds = time.perf_counter() - start
    pipe.send((seconds, peak_memory(), cells))


def peak_memory() -> float:
    """Give the peak of this process in MB; the kernel's own count starts at its start."""
    status = Path("/proc/self/status")
    if status.exists():
        line = next(line for line in status.read_text().splitlines() if line.startswith("VmHWM"))
        return int(line.split()[1]) / 1000
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000


def main() -> None:
    """Print the table."""
    count = int(float(sys.argv[1])) if len(sys.argv) > 1 else 1_000_000
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        write_study(folder, count)
        size = (folder / "readings.csv").stat().st_size / 1e6
        measure(keep, folder)
        print(f"{count} readings, {size:.0f} MB of text")
        print(f"{'way':8} {'seconds':>8} {'ratio':>6} {'peak MB':>8} {'cells':>9}")
        found = {name: measure(way, folder) for name, way in WAYS.items()}
        for name, (seconds, peak, cells) in found.items():
            ratio = seconds / found["ours"][0]
            print(f"{name:8} {seconds:8.2f} {ratio:6.2f} {peak:8.0f} {cells:9}")


if __name__ == "__main__":
    main()
