"""The workbench beside its peers, each pair in one run: the table of record.

    python tests/benchmarks/peers.py

measures every way several times, ours and the peer's by turns, each in a process of its own, and
writes `peers.csv` beside this file and the table as Markdown to standard output. What is counted is
user and system time, which other work on the machine hardly changes; a ratio is that of one turn,
its spread that over the turns. `--repeats N` takes so many turns, `--only WORDS` the rows whose
name holds the words, `--table` prints what is kept and measures nothing.
R with lme4 and pbkrtest is a peer where it is found.
"""

from __future__ import annotations

import argparse
import csv
import json
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import bench_intake
import bench_nested
import numpy as np
from bench_distributions import PEERS, reduced, walls
from bench_run import DEMO
from bench_run import STUDY as DEMO_STUDY
from cost_curves import circumstances

TABLE = Path(__file__).with_name("peers.csv")
READINGS, SAMPLE, DRAWS, LOOPED = 1_000_000, 100_000, 10_000, 4
Way = Callable[[], float]


def spent(work: Callable[[], Any], times: int = 1) -> float:
    """Give user and system seconds of a piece of work and of what it starts, a time."""
    before = processor()
    for _ in range(times):
        work()
    return (processor() - before) / times


def processor() -> float:
    """Give user and system seconds so far, of this process and of those it has waited for."""
    used = [resource.getrusage(whose) for whose in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def nested(count: int) -> Way:
    """Give our nested fit with its contrast."""

    def way() -> float:
        from workbench.inference.nested.fit import nested_fit

        table = bench_nested.readings(count)

        def fit() -> None:
            nested_fit(
                table, response="wall", fixed=["family", "station"], nesting=["block", "bore"]
            ).contrast("family", "works", "deepdeck")

        fit()
        return spent(fit, 5)

    return way


def mixed_by_statsmodels() -> float:
    """Give the fit alone of statsmodels; it starts no process and has one thread."""
    return bench_nested.time_mixedlm(3_840)["best"]


def lme4(count: int, also: str = "") -> Way:
    """Give the fit of lme4 as R counts its own time; with `pbkrtest` its adjusted freedom."""

    def way() -> float:
        script = bench_nested.R_SCRIPT
        bench_nested.R_SCRIPT = script.replace('[["elapsed"]]', '[["user.self"]]')
        took = bench_nested.time_r(count)
        return took["best"] + (took[also] if also else 0.0)

    return way


def fits_here() -> float:
    """Fit ten families to the distinct values; the reduction to them is not counted."""
    from workbench.inference.distributions.fit import fit_distribution

    readings = reduced(np.round(walls(SAMPLE), 2), 0.01)
    return spent(lambda: [fit_distribution(readings, family) for family in PEERS], 3)


def fits_by_scipy() -> float:
    """Fit the same families value by value."""
    values = np.round(walls(SAMPLE), 2)

    def fit() -> None:
        for family, (peer, fixed) in PEERS.items():
            peer.fit(-values if family == "gev-minima" else values, **fixed)  # type: ignore[attr-defined]

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return spent(fit)


def figures(blocks: int) -> tuple[np.ndarray, np.ndarray]:
    """Draw one figure a block for two families."""
    own, other = np.random.default_rng(20261125).gamma(8, 0.5, (2, blocks))
    return own, other


def median_here() -> float:
    """Bootstrap the median of 500 blocks in closed form, BCa."""
    from workbench.inference.resampling.quantiles import bootstrap_quantile

    own, _ = figures(500)
    bootstrap_quantile(own).interval()
    return spent(lambda: bootstrap_quantile(own).interval(), 200)


def drawn_here() -> float:
    """Bootstrap a figure of 500 blocks by drawing, the median, BCa."""
    from workbench.inference.resampling.blocks import bootstrap_blocks

    own, _ = figures(500)
    return spent(lambda: bootstrap_blocks((own,), np.median, seed=1).interval(), 2)


def mean_here() -> float:
    """Bootstrap the mean of 500 blocks, in closed form."""
    from workbench.inference.resampling.means import bootstrap_mean

    own, _ = figures(500)
    bootstrap_mean(own).interval()
    return spent(lambda: bootstrap_mean(own).interval(), 200)


def bootstrap_by_scipy(figure: Callable[..., Any]) -> Way:
    """Give scipy's bootstrap of the same figure, as quick as it can be called."""

    def way() -> float:
        from scipy import stats

        own, _ = figures(500)
        return spent(
            lambda: stats.bootstrap(
                (own,), figure, n_resamples=DRAWS, vectorized=True, method="BCa", rng=1
            )
        )

    return way


def permuted_here() -> float:
    """Deal 60 blocks and 60 blocks anew."""
    from workbench.inference.resampling.permutation import permute_blocks

    own, other = figures(60)
    permute_blocks(own, other, seed=1).p_value(0.0)
    return spent(lambda: permute_blocks(own, other, seed=1).p_value(0.0), 50)


def permuted_by_scipy() -> float:
    """Deal them as scipy does, with as many draws."""
    from scipy import stats

    own, other = figures(60)

    def apart(a: np.ndarray, b: np.ndarray, axis: int) -> Any:
        return a.mean(axis=axis) - b.mean(axis=axis)

    return spent(
        lambda: stats.permutation_test(
            (own, other), apart, n_resamples=9_999, vectorized=True, rng=1
        )
    )


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

        from workbench.records.reduction import CELL_KEY, cells_sql, stepped_sql

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
            key = ", ".join(CELL_KEY)
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
            statement = ours if name == "ours" else bare
            return spent(lambda: engine.sql(statement).to_arrow_table(), 3)

    return way


def headless(by_loop: bool) -> Way:
    """Give a whole run of the demo, or a loop of papermill's command over some of its notebooks."""

    def way() -> float:
        from workbench.runs.plan import make_plan, shipped_notebooks
        from workbench.study import DEFAULT_SEED, open_study

        with tempfile.TemporaryDirectory() as place:
            if not by_loop:
                command = [sys.executable, "-c", DEMO, str(DEMO_STUDY), "--out", f"{place}/out"]
                return spent(lambda: subprocess.run(command, check=True, capture_output=True))
            opened = open_study(DEMO_STUDY)
            plan = make_plan(
                shipped_notebooks(), opened.ledger.ids, study=str(DEMO_STUDY), seed=DEFAULT_SEED,
                blocks=tuple(str(block) for block in opened.records.blocks["block"][:3]),
            )  # fmt: skip
            paths = {book.name: str(book.path) for book in shipped_notebooks()}
            some = plan[:: max(len(plan) // LOOPED, 1)][:LOOPED]

            def loop() -> None:
                for job in some:
                    command = [sys.executable, "-m", "papermill", paths[job.notebook]]
                    command += [f"{place}/x.ipynb"]
                    for name, value in job.parameters.items():
                        command += ["-p", name, str(value)] if value else []
                    subprocess.run(command, check=True, capture_output=True)

            return spent(loop) * len(plan) / len(some)

    return way


ROWS: tuple[tuple[str, str, Way, str, Way], ...] = (
    ("nested 3 840", "nested fit and contrast, about 3 500 readings", nested(3_840),
     "statsmodels MixedLM, fit alone", mixed_by_statsmodels),
    ("nested 3 840 R", "nested fit and contrast, about 3 500 readings", nested(3_840),
     "lme4 with pbkrtest", lme4(3_840, "pbkrtest")),
    ("nested 192 000 R", "nested fit and contrast, about 194 600 readings", nested(192_000),
     "lme4, fit alone", lme4(192_000)),
    ("fits", "10 families fitted, 100 000 readings", fits_here,
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
     "DuckDB, floating sums", reduction("bare")),
    ("reduction pandas", "reduction of 1 000 000 sound readings", reduction("ours"),
     "pandas groupby", reduction("pandas")),
    ("intake duckdb", "intake of 1 000 000 rows with all rules", intake("ours"),
     "DuckDB, load and reduce, no rule", intake("engine")),
    ("intake pandas", "intake of 1 000 000 rows with all rules", intake("ours"),
     "pandas with the row rules by hand", intake("pandas")),
    ("headless", "headless run of the demo", headless(False),
     f"papermill's command in a loop, {LOOPED} notebooks scaled to all", headless(True)),
)  # fmt: skip


def measure(name: str, repeats: int) -> None:
    """Measure one row and keep it."""
    row = next(row for row in ROWS if row[0] == name)
    turns: dict[str, list[float]] = {"ours": [], "peer": []}
    for _ in range(repeats):
        for side, found in turns.items():
            done = subprocess.run(
                [sys.executable, __file__, "--way", name, side],
                check=True, stdout=subprocess.PIPE, text=True,
            )  # fmt: skip
            found.append(float(json.loads(done.stdout.splitlines()[-1])))
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


def show() -> None:
    """Print the table as Markdown."""
    print("| what | seconds here | peer | times as long (spread) |\n| --- | --- | --- | --- |")
    for row in kept():
        spread = f"{row['ratio']} ({row['ratio_least']} to {row['ratio_greatest']})"
        print(f"| {row['what']} | {row['ours_cpu_s']} | {row['peer']} | {spread} |")


def main() -> None:
    """Measure what is asked for and print the table."""
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
        if wanted and (not name.endswith(" R") or shutil.which("Rscript")):
            measure(name, asked.repeats)
            print(kept_line(name), flush=True)
    show()


def kept_line(name: str) -> str:
    """Give what was measured of a row, in a line."""
    row = next(row for row in kept() if row["row"] == name)
    return f"{name}: {row['ours_cpu_s']} s, {row['peer']} {row['peer_cpu_s']} s, {row['ratio']}"


if __name__ == "__main__":
    main()
