"""What the workbench costs as its work grows: time and memory by readings, blocks, claims, items.

    python tests/benchmarks/cost_curves.py

writes `cost_curves.csv` and `cost_curves.png` beside this file. Each point is one process of its
own, on invented records written before it starts; the time is user and system time of it and of all
it starts, which other work on the machine hardly changes, and the wall time stands beside it. The
memory is the peak of that process, for notebooks of the runner alone. To each curve
`a + b * size ** k` is fitted, `a` being what a small study costs already (imports, mostly); the
table of ends and exponents goes into DEVELOPERS.md.
`--axis NAME` measures one curve and keeps the others, `--up-to SIZE` goes on to larger sizes
(a hundred million readings take minutes and gigabytes of disk), `--draw` draws the table anew.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import platform
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
from bench_intake import peak_memory
from docs_table import put
from power_law import PowerLaw, fitted

os.environ["WORKBENCH_CACHE"] = "off"  # what is measured is the reading

TABLE = Path(__file__).with_name("cost_curves.csv")
MARK = "cost curves"
FIGURE = TABLE.with_suffix(".png")
BORES, STATIONS = 6, ("front", "thrust", "rear", "counter")
PLACES = BORES * len(STATIONS)
AT_A_TIME = 1_000_000
STUDY = 'title = "Invented walls"\n'
CLAIM = """
[[claim]]
id = "claim-{number}"
statement = "Deep blocks are {margin:.4f} mm thicker."
quantity = "wall_thickness"
candidate = "deep"
reference = "works"
direction = "greater"
margin = {margin:.4f}
unit = "mm"
scope = "family"
"""


def write_study(folder: Path, *, blocks: int, readings: int, claims: int) -> None:
    """Write an invented study: two families, every place of a block read equally often."""
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")
    entries = (CLAIM.format(number=n, margin=0.001 * n) for n in range(claims))
    (folder / "claims.toml").write_text("".join(entries), encoding="utf-8")
    writer = None
    for start in range(0, readings, AT_A_TIME):
        part = drawn(np.arange(start, min(start + AT_A_TIME, readings)), blocks)
        writer = writer or pq.ParquetWriter(folder / "readings.parquet", part.schema)
        writer.write_table(part)
    if writer is not None:
        writer.close()


def drawn(at: np.ndarray, blocks: int) -> pa.Table:
    """Draw the readings with these numbers: place after place, then again from the first."""
    place, repeat = at % (blocks * PLACES), at // (blocks * PLACES)
    block, bore, station = place // PLACES, place // len(STATIONS) % BORES, place % len(STATIONS)
    effects = np.random.default_rng(1).normal(0, 0.15, blocks)
    walls = 5.2 + 0.3 * (block % 2) + effects[block]
    walls += np.random.default_rng(at[0]).normal(0, 0.1, len(at))
    return pa.table(
        {
            "block": np.char.mod("B%06d", block),
            "family": np.array(["works", "deep"])[block % 2],
            "quantity": np.full(len(at), "wall_thickness"),
            "value": np.char.mod("%.2f", walls),
            "unit": np.full(len(at), "mm"),
            "bore": np.char.mod("%d", bore + 1),
            "station": np.array(STATIONS)[station],
            "repeat": np.char.mod("%d", repeat + 1),
        }
    )


def open_only(folder: Path) -> None:
    """Read and check the records, and reduce them."""
    from workbench.study import open_study

    open_study(folder)


def judge(folder: Path) -> None:
    """Judge the claims."""
    from workbench.study import open_study

    open_study(folder).judge()


def notebooks(folder: Path) -> None:
    """Run the notebook of a block once for each."""
    from workbench.runs.batch_notebook import run_over

    summary = run_over(folder, folder / "out", only="block", each=["block"], progress=False)
    assert summary.failed == 0


class Axis:
    """One curve: sizes, the study of a size, what is done with it."""

    def __init__(
        self,
        label: str,
        sizes: tuple[int, ...],
        more: tuple[int, ...],
        does: Callable[[Path], None],
    ) -> None:
        self.label, self.sizes, self.more, self.does = label, sizes, more, does


AXES = {
    "readings": Axis(
        "readings of 100 blocks, checked and reduced",
        (10**4, 10**5, 10**6, 10**7),
        (10**8,),
        open_only,
    ),
    "blocks": Axis(
        "blocks of 24 readings, one claim judged", (10, 100, 1_000, 10_000, 100_000), (), judge
    ),
    "claims": Axis("claims judged, 60 blocks", (1, 10, 100, 1_000), (), judge),
    "notebooks": Axis(
        "notebooks of a block, run headless", (1, 3, 10, 30, 100), (1_000,), notebooks
    ),
}


def study_of(axis: str, size: int) -> dict[str, int]:
    """Give the study on which a size of an axis is measured."""
    match axis:
        case "readings":
            return {"blocks": 100, "readings": size, "claims": 0}
        case "blocks":
            return {"blocks": size, "readings": size * PLACES, "claims": 1}
        case "claims":
            return {"blocks": 60, "readings": 60 * PLACES, "claims": size}
    return {"blocks": size, "readings": size * PLACES, "claims": 0}


def measured(axis: str, size: int) -> dict[str, float]:
    """Write a study and work on it in a process of its own."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "study"
        folder.mkdir()
        write_study(folder, **study_of(axis, size))
        done = subprocess.run(
            [sys.executable, __file__, "--work", axis, str(folder)],
            check=True,
            stdout=subprocess.PIPE,
            text=True,
        )
    answer: dict[str, float] = json.loads(done.stdout.splitlines()[-1])
    return answer


def work(axis: str, folder: Path) -> None:
    """Do the work of an axis and print what it took."""
    begun = time.perf_counter()
    AXES[axis].does(folder)
    wall = time.perf_counter() - begun
    used = [resource.getrusage(whose) for whose in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    cpu = sum(one.ru_utime + one.ru_stime for one in used)
    print(json.dumps({"wall_s": wall, "cpu_s": cpu, "peak_mb": peak_memory()}))


def circumstances() -> dict[str, str]:
    """Give the day, the machine with its load, and the versions."""
    from workbench.article.versions import versions

    known = versions()
    names = ("workbench", "python", "numpy", "scipy", "pandas", "duckdb", "papermill")
    return {
        "date": datetime.now(UTC).date().isoformat(),
        "machine": f"{platform.system()} {platform.machine()}, {os.cpu_count()} processors",
        "load": f"{os.getloadavg()[0]:.1f}",
        "versions": " ".join(f"{name} {known[name]}" for name in names),
    }


def read_table() -> list[dict[str, str]]:
    """Give the rows of the table kept."""
    if not TABLE.exists():
        return []
    with TABLE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def keep(row: dict[str, str]) -> None:
    """Put a row into the table, in the place of an earlier one of its axis and size."""
    key = (row["axis"], row["size"])
    rows = [one for one in read_table() if (one["axis"], one["size"]) != key] + [row]
    rows.sort(key=lambda one: (list(AXES).index(one["axis"]), int(one["size"])))
    with TABLE.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(row), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def curves() -> dict[str, dict[str, tuple[np.ndarray, np.ndarray, PowerLaw]]]:
    """Fit the curve of each axis, for time and for memory."""
    found: dict[str, dict[str, tuple[np.ndarray, np.ndarray, PowerLaw]]] = {}
    for axis in AXES:
        rows = [row for row in read_table() if row["axis"] == axis]
        sizes = np.array([float(row["size"]) for row in rows])
        for figure in ("cpu_s", "peak_mb"):
            values = np.array([float(row[figure]) for row in rows])
            if len(rows) > 3:
                found.setdefault(axis, {})[figure] = (sizes, values, fitted(sizes, values))
    return found


def draw() -> None:
    """Draw the curves into the figure kept."""
    import matplotlib as mpl

    mpl.use("Agg")
    import matplotlib.pyplot as plt
    from matplotlib.ticker import NullFormatter

    found = curves()
    sheet, grid = plt.subplots(
        2, len(found), figsize=(2.3 * len(found), 4.6), squeeze=False, layout="constrained"
    )
    for column, (axis, both) in enumerate(found.items()):
        for row, (figure, (sizes, values, law)) in enumerate(both.items()):
            axes = grid[row, column]
            line = np.geomspace(sizes[0], sizes[-1], 60)
            axes.loglog(sizes, values, "o", color="#0072B2", markersize=4)
            axes.loglog(line, law.at(line), color="#222222", linewidth=0.9)
            axes.set_title(law.words(), fontsize=8, loc="left")
            axes.tick_params(labelsize=7)
            axes.yaxis.set_minor_formatter(NullFormatter())
            axes.spines[["top", "right"]].set_visible(False)
            if column == 0:
                names = {"cpu_s": "processor seconds", "peak_mb": "peak memory, MB"}
                axes.set_ylabel(names[figure], fontsize=8)
            if row == 1:
                axes.set_xlabel(axis, fontsize=8)
            low, high = values.min(), values.max()
            axes.set_ylim(low / 3, high * 3)
    sheet.savefig(FIGURE, dpi=110)


def table() -> str:
    """Give the ends of the curves and their exponents as Markdown, their circumstances above."""
    rows = read_table()
    days = " and ".join(sorted({row["date"] for row in rows}))
    machines = "; ".join(sorted({row["machine"] for row in rows}))
    loads = [float(row["load"]) for row in rows]
    lines = [
        f"{days}, {machines}; load {min(loads):.0f} to {max(loads):.0f}, one process a point:",
        "",
        "| grows | from | to | seconds of processor | peak memory |",
        "| --- | --- | --- | --- | --- |",
    ]
    for axis, both in curves().items():
        said = []
        for figure, (_, values, law) in both.items():
            unit, digits = ("s", 1) if figure == "cpu_s" else ("MB", 0)
            ends = f"{values[0]:.{digits}f} to {values[-1]:.{digits}f} {unit}"
            most = f", most {values.max():.{digits}f}" if values.max() > values[-1] else ""
            said.append(f"{ends}{most}, {law.words()}")
        sizes = both["cpu_s"][0]
        lines.append(
            f"| {AXES[axis].label} | {int(sizes[0]):,} | {int(sizes[-1]):,} | {' | '.join(said)} |"
        )
    return "\n".join(lines)


def main() -> None:
    """Measure what is asked for, then draw."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--axis", choices=list(AXES), help="measure this curve alone")
    parser.add_argument("--up-to", type=float, default=0, help="go on to larger sizes")
    parser.add_argument("--draw", action="store_true", help="measure nothing")
    parser.add_argument("--work", nargs=2, metavar=("AXIS", "FOLDER"), help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.work:
        work(asked.work[0], Path(asked.work[1]))
        return
    for name, axis in AXES.items():
        if asked.draw or asked.axis not in (None, name):
            continue
        for size in (*axis.sizes, *(one for one in axis.more if one <= asked.up_to)):
            took = measured(name, size)
            told = {key: f"{value:.3g}" for key, value in took.items()}
            keep({"axis": name, "size": str(size), **told, **circumstances()})
            print(f"{name} {size:,}: {told}", flush=True)
    draw()
    put(MARK, table())


if __name__ == "__main__":
    main()
