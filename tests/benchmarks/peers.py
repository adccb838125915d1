"""The workbench beside its peers, each pair in one run: the table of record.

    python tests/benchmarks/peers.py

measures every way several times, ours and the peer's by turns, each in a process of its own, and
writes `peers.csv` beside this file and the table in DEVELOPERS.md. What is counted is user and
system time, which other work on the machine changes less than the clock; a ratio is that of one
turn, its spread that over the turns. `--repeats N` takes so many turns, `--only WORDS` the rows
whose name holds the words, `--table` writes what is kept and measures nothing.
R with lme4 and pbkrtest, and Spark with Java, are peers where they are found.
"""

from __future__ import annotations

import argparse
import csv
import importlib.util
import json
import shutil
import statistics
import subprocess
import sys
from pathlib import Path

import numpy as np
from cost_curves import circumstances
from docs_table import put
from peer_records import intake, reduction, spark_reads
from peer_runs import LOOPED, headless
from peer_statistics import (
    bootstrap_by_scipy,
    drawn_here,
    fits_by_scipy,
    fits_here,
    lme4,
    mean_here,
    median_here,
    mixed_by_statsmodels,
    nested,
    permuted_by_scipy,
    permuted_here,
)
from peer_time import Way

TABLE = Path(__file__).with_name("peers.csv")
MARK = "peers"

ROWS: tuple[tuple[str, str, Way, str, Way], ...] = (
    ("nested 3 840", "nested fit and contrast, about 3 500 readings", nested(3_840),
     "statsmodels MixedLM, fit alone", mixed_by_statsmodels),
    ("nested 3 840 R", "nested fit and contrast, about 3 500 readings", nested(3_840),
     "lme4 with pbkrtest", lme4(3_840, "pbkrtest")),
    ("nested 192 000 R", "nested fit and contrast, about 194 600 readings", nested(192_000),
     "lme4, fit alone", lme4(192_000)),
    ("fits", "10 families of distributions fitted, 100 000 readings", fits_here,
     "scipy fit, raw values", fits_by_scipy),
    ("bootstrap drawn", "BCa interval of any figure (a median), 500 blocks, 10 000 draws",
     drawn_here, "scipy bootstrap, vectorized", bootstrap_by_scipy(np.median)),
    ("bootstrap median", "BCa interval of a median, 500 blocks, closed form", median_here,
     "scipy bootstrap, vectorized", bootstrap_by_scipy(np.median)),
    ("bootstrap mean", "BCa interval of a mean, 500 blocks, closed form", mean_here,
     "scipy bootstrap, vectorized", bootstrap_by_scipy(np.mean)),
    ("permutation", "permutation of 60 and 60 blocks, 20 039 draws", permuted_here,
     "scipy permutation_test, 9 999 draws, vectorized", permuted_by_scipy),
    ("reduction duckdb", "reduction of 1 000 000 sound readings", reduction("ours"),
     "DuckDB, floating sums, no order", reduction("bare")),
    ("reduction ordered", "the same with the cells put in their order", reduction("ordered"),
     "DuckDB, floating sums, no order", reduction("bare")),
    ("reduction pandas", "reduction of 1 000 000 sound readings", reduction("ours"),
     "pandas groupby", reduction("pandas")),
    ("intake duckdb", "intake of 1 000 000 rows with all rules", intake("ours"),
     "DuckDB, load and reduce, no rule", intake("engine")),
    ("intake pandas", "intake of 1 000 000 rows with all rules", intake("ours"),
     "pandas with the row rules by hand", intake("pandas")),
    ("intake Spark", "intake of 1 000 000 rows with all rules", intake("ours"),
     "the same with the reduction on Spark, its start counted", spark_reads),
    ("headless", "headless run of the demo", headless(False),
     f"papermill's command in a loop, {LOOPED} notebooks scaled to all", headless(True)),
)  # fmt: skip


def measure(name: str, repeats: int) -> None:
    """Measure one row and keep it."""
    row = next(row for row in ROWS if row[0] == name)
    turns: dict[str, list[float]] = {"ours": [], "peer": []}
    for _ in range(repeats):
        for side, times in turns.items():
            done = subprocess.run(
                [sys.executable, __file__, "--way", name, side],
                check=True, stdout=subprocess.PIPE, text=True,
            )  # fmt: skip
            times.append(float(json.loads(done.stdout.splitlines()[-1])))
    ratios = [peer / own for own, peer in zip(*turns.values(), strict=True)]
    keep(
        {
            "row": name,
            "what": row[1],
            "peer": row[3],
            "ours_cpu_s": f"{statistics.median(turns['ours']):.3g}",
            "peer_cpu_s": f"{statistics.median(turns['peer']):.3g}",
            "ratio": f"{statistics.median(ratios):.3g}",
            "ratio_least": f"{min(ratios):.3g}",
            "ratio_greatest": f"{max(ratios):.3g}",
            "repeats": str(repeats),
            **circumstances(),
        }
    )


def kept() -> list[dict[str, str]]:
    """Give the rows of the table kept."""
    if not TABLE.exists():
        return []
    with TABLE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def keep(row: dict[str, str]) -> None:
    """Put a row into the table, in the place of an earlier one."""
    order = [name for name, *_ in ROWS]
    rows = [one for one in kept() if one["row"] != row["row"]] + [row]
    rows.sort(key=lambda one: order.index(one["row"]))
    with TABLE.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(row), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def table() -> str:
    """Give the table as Markdown, with the circumstances of its rows above it."""
    rows = kept()
    days = " and ".join(sorted({row["date"] for row in rows}))
    loads = [float(row["load"]) for row in rows]
    machines = "; ".join(sorted({row["machine"] for row in rows}))
    versions = "; ".join(sorted({row["versions"] for row in rows}))
    lines = [
        f"{days}, {machines}, {versions}; load {min(loads):.0f} to {max(loads):.0f}, by turns:",
        "",
        "| what | seconds of processor here | peer | times as long, median (least to greatest) |"
        " turns |",
        "| --- | --- | --- | --- | --- |",
    ]
    for row in rows:
        spread = f"{row['ratio']} ({row['ratio_least']} to {row['ratio_greatest']})"
        lines.append(
            f"| {row['what']} | {row['ours_cpu_s']} | {row['peer']} | {spread} | {row['repeats']} |"
        )
    return "\n".join(lines)


def found(name: str) -> bool:
    """Tell whether the peer of a row is on this machine."""
    if name.endswith(" R"):
        return shutil.which("Rscript") is not None
    if name.endswith(" Spark"):
        return importlib.util.find_spec("pyspark") is not None and shutil.which("java") is not None
    return True


def main() -> None:
    """Measure what is asked for and write the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--only", default="", help="rows whose name holds these words")
    parser.add_argument("--table", action="store_true", help="measure nothing")
    parser.add_argument("--way", nargs=2, metavar=("ROW", "SIDE"), help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.way:
        row = next(row for row in ROWS if row[0] == asked.way[0])
        print(json.dumps((row[2] if asked.way[1] == "ours" else row[4])()))
        return
    for name, *_ in ROWS:
        wanted = asked.only in name and not asked.table
        if wanted and found(name):
            measure(name, asked.repeats)
            print(kept_line(name), flush=True)
    put(MARK, table())


def kept_line(name: str) -> str:
    """Give what was measured of a row, in a line."""
    row = next(row for row in kept() if row["row"] == name)
    return f"{name}: {row['ours_cpu_s']} s, {row['peer']} {row['peer_cpu_s']} s, {row['ratio']}"


if __name__ == "__main__":
    main()
