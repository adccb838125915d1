"""Time and memory of the nested model against its peers, in one run.

Run ``python tests/benchmarks/bench_nested.py``. Every fit runs in a process of its own on one
thread, from a table of readings already in memory to the contrast with its Kenward-Roger degrees
of freedom; the peak is that of the process less what the libraries and the table took. Peers:
statsmodels MixedLM (fit alone, no degrees of freedom), and, where R is found, lme4 (fit alone) and
pbkrtest. `best` is the shortest of five repeats of ours, and of one of the peers.
The readings are drawn here from a seed: invented walls of two families, a tenth left out.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
import warnings
from multiprocessing.connection import Connection
from pathlib import Path

import numpy as np
import pandas as pd

from workbench.inference.nested.fit import nested_fit

STATIONS = ("front", "thrust", "rear", "counter")
# about so many readings: blocks, bores a block, readings a bore before a tenth is left out
PLANS = {
    3_840: (40, 6, 18),
    38_400: (400, 6, 18),
    192_000: (2_000, 6, 18),
    10_000_000: (60_000, 6, 31),
}
MIXEDLM_UP_TO, LME4_UP_TO, PBKRTEST_UP_TO = 38_400, 192_000, 3_840
REPEATS = 5

R_SCRIPT = """
suppressPackageStartupMessages({library(lme4)})
path <- commandArgs(TRUE)[1]; adjust <- commandArgs(TRUE)[2] == "yes"
D <- read.csv(path, colClasses = c(rep("factor", 4), "numeric"))
fit_seconds <- system.time(
  fit <- lmer(wall ~ family + station + (1 | block) + (1 | bore), D))[["elapsed"]]
v <- as.data.frame(VarCorr(fit))
kr <- if (adjust) { library(pbkrtest); l <- c(0, 1, 0, 0, 0)
  system.time(df <- Lb_ddf(l, vcov(fit), vcovAdj(fit)))[["elapsed"]] } else NA
cat(fit_seconds, kr, if (adjust) df else NA, sum(v$vcov[v$grp == "block"]), "\\n")
"""


def readings(count: int) -> pd.DataFrame:
    """Draw a table of readings with categorical columns; a tenth of those planned is left out."""
    blocks, bores, each = PLANS[count]
    rng = np.random.default_rng(count)
    bore = np.repeat(np.arange(blocks * bores), each)
    bore = bore[rng.random(len(bore)) > 0.1]
    block = bore // bores
    station = rng.integers(0, len(STATIONS), len(bore))
    wall = (
        6.0
        + 0.3 * (block % 3 == 0)
        - 0.2 * (station == 1)
        + rng.normal(0, 0.2, blocks)[block]
        + rng.normal(0, 0.3, blocks * bores)[bore]
        + rng.normal(0, 0.2, len(bore))
    )
    codes = {
        "family": ((block % 3 == 0).astype(np.int8), ["deepdeck", "works"]),
        "block": (block, np.arange(blocks).astype(str)),
        "bore": (bore % bores, np.arange(bores).astype(str)),
        "station": (station, STATIONS),
    }
    table = pd.DataFrame({name: pd.Categorical.from_codes(*coded) for name, coded in codes.items()})
    return table.assign(wall=wall.round(2))


def peak() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def time_ours(count: int) -> dict[str, float]:
    """Fit in a fork, whose peak starts at what it holds, not at what drawing the table took."""
    table = readings(count)
    context = multiprocessing.get_context("fork")
    receive, send = context.Pipe(duplex=False)
    process = context.Process(target=fit_and_send, args=(table, send))
    process.start()
    result = receive.recv()
    process.join()
    return result


def fit_and_send(table: pd.DataFrame, send: Connection) -> None:
    before, seconds = peak(), []
    for _ in range(REPEATS):
        start = time.perf_counter()
        fit = nested_fit(
            table, response="wall", fixed=["family", "station"], nesting=["block", "bore"]
        )
        answer = fit.contrast("family", "works", "deepdeck")
        seconds.append(time.perf_counter() - start)
    send.send(
        {
            "readings": len(table),
            "first": seconds[0],
            "best": min(seconds),
            "peak": peak() - before,
            "table": before,
            "df": answer.degrees_of_freedom,
            "block": fit.variance_components["block"],
            "steps": fit.steps,
        }
    )


def time_mixedlm(count: int) -> dict[str, float]:
    import statsmodels.formula.api as smf

    table = readings(count)
    for name in ("family", "block", "bore", "station"):
        table[name] = table[name].astype(str)
    start = time.perf_counter()
    model = smf.mixedlm(
        "wall ~ family + station",
        table,
        groups="block",
        re_formula="1",
        vc_formula={"bore": "0 + C(bore)"},
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fit = model.fit(reml=True)
    return {"best": time.perf_counter() - start, "block": float(fit.cov_re.iloc[0, 0])}


def time_r(count: int) -> dict[str, float]:
    table = readings(count)
    with tempfile.TemporaryDirectory() as folder:
        path, script = Path(folder) / "readings.csv", Path(folder) / "fit.R"
        table["bore"] = table["block"].astype(str) + "/" + table["bore"].astype(str)
        table.to_csv(path, index=False)
        script.write_text(R_SCRIPT)
        adjust = "yes" if count <= PBKRTEST_UP_TO else "no"
        run = subprocess.run(
            ["Rscript", str(script), str(path), adjust], capture_output=True, text=True, check=True
        )
    fit, kr, df, block = (float(text.replace("NA", "nan")) for text in run.stdout.split())
    return {"best": fit, "pbkrtest": kr, "df": df, "block": block}


WAYS = {"ours": time_ours, "mixedlm": time_mixedlm, "r": time_r}


def in_own_process(way: str, count: int) -> dict[str, float]:
    run = subprocess.run(
        [sys.executable, __file__, way, str(count)],
        stdout=subprocess.PIPE,
        text=True,
        check=True,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"},
    )
    return json.loads(run.stdout)


def main() -> None:
    for count in PLANS:
        ours = in_own_process("ours", count)
        print(
            f"{ours['readings']:>10,} readings, {PLANS[count][0]:,} blocks: "
            f"{ours['best']:.3f} s (first {ours['first']:.3f} s), {ours['steps']} steps, "
            f"peak {ours['peak']:.0f} MB above {ours['table']:.0f} MB, df {ours['df']:.3f}",
            flush=True,
        )
        if count <= MIXEDLM_UP_TO:
            peer = in_own_process("mixedlm", count)
            print(
                f"{'':>12}statsmodels MixedLM fit alone {peer['best']:.1f} s, "
                f"{peer['best'] / ours['best']:.0f} times ours; "
                f"block variance {peer['block']:.5f} against {ours['block']:.5f}"
            )
        if count <= LME4_UP_TO and shutil.which("Rscript"):
            peer = in_own_process("r", count)
            print(
                f"{'':>12}lme4 fit alone {peer['best']:.2f} s, "
                f"{peer['best'] / ours['best']:.0f} times ours; "
                f"block variance {peer['block']:.5f} against {ours['block']:.5f}"
            )
            if count <= PBKRTEST_UP_TO:
                print(
                    f"{'':>12}pbkrtest {peer['pbkrtest']:.1f} s on top, "
                    f"{(peer['best'] + peer['pbkrtest']) / ours['best']:.0f} times ours; "
                    f"df {peer['df']:.3f} against {ours['df']:.3f}"
                )


if __name__ == "__main__":
    if len(sys.argv) > 1:
        print(json.dumps(WAYS[sys.argv[1]](int(sys.argv[2]))))
    else:
        main()
