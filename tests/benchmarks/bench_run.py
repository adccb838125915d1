"""Time of a headless run of all demo notebooks, against plain kernels and papermill's command line.

Run ``python tests/benchmarks/bench_run.py``. Every way is a process of its own, from its start to
its end, one after the other in one run; the ratio is to forked kernels, two at a time.
`processor` is user and system time of the process and all it started: it counts the same on a busy
machine. The command line runs the first notebooks only (``--command N``, 6 at first, 0 for none),
one after another, and its time is scaled up to all of them. Nothing is asserted.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from workbench.runs.places import shipped
from workbench.runs.plan import make_plan, shipped_notebooks
from workbench.study import DEFAULT_SEED, open_study

os.environ["WORKBENCH_CACHE"] = "off"  # for every way alike

STUDY = shipped("data") / "demo"
DEMO = "from workbench.cli import main; main(['run', *__import__('sys').argv[1:]])"


def measured(commands: list[list[str]], **environment: str) -> tuple[float, float]:
    """Run commands one after another; give wall and processor seconds."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    for command in commands:
        subprocess.run(
            command, env=os.environ | environment, check=True, capture_output=True, cwd=STUDY
        )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return time.perf_counter() - start, used


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--command", type=int, default=6, help="notebooks for the command line")
    first = parser.parse_args().command
    claims = open_study(STUDY).ledger.ids
    plan = make_plan(shipped_notebooks(), claims, study=str(STUDY), seed=DEFAULT_SEED)
    sources = {book.name: book.path for book in shipped_notebooks()}
    rows: list[tuple[str, float, float]] = []
    with tempfile.TemporaryDirectory() as folder:
        for make, jobs in (("forked", 2), ("forked", 1), ("forked", 3), ("plain", 2), ("plain", 1)):
            out = Path(folder) / f"{make}-{jobs}"
            command = [sys.executable, "-c", DEMO, str(STUDY), "--out", str(out)]
            command += ["--jobs", str(jobs)]
            rows.append(
                (f"{make} kernels, {jobs} at a time", *measured([command], WORKBENCH_KERNELS=make))
            )
        some = plan[:first]
        commands = [
            [sys.executable, "-m", "papermill", str(sources[job.notebook]), f"{folder}/x.ipynb"]
            + [part for name, value in job.parameters.items() for part in ("-p", name, str(value))]
            for job in some
        ]
        if commands:
            scale = len(plan) / len(some)
            wall, used = measured(commands)
            name = f"papermill's command line, one at a time ({len(some)} run, scaled)"
            rows.append((name, wall * scale, used * scale))
    print(f"{len(plan)} notebooks, {os.cpu_count()} processors, load {os.getloadavg()[0]:.1f}")
    print(f"{'':62}{'wall s':>8}{'ratio':>7}{'processor s':>13}{'ratio':>7}")
    for name, wall, used in rows:
        print(f"{name:62}{wall:8.1f}{wall / rows[0][1]:7.1f}{used:13.1f}{used / rows[0][2]:7.1f}")


if __name__ == "__main__":
    main()
