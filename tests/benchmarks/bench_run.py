"""Time of a headless run of all demo notebooks, against plain kernels and papermill's command line.

Run ``python tests/benchmarks/bench_run.py``. Every way is a process of its own, from its start to
its end, one after the other in one run; the ratio is to forked kernels, two at a time, over all
pages: a page for each claim, and for the block of each family that is shown. Each notebook once
takes the first of both. `processor` is user and system time of the process and all it started: it
counts the same on a busy machine. The command line runs the first pages only (``--command N``, 6
at first, 0 for none), one after another, and its time is scaled up to all. Nothing is asserted.
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

from workbench.castings.blocks_to_show import thinnest_blocks
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
    opened, books = open_study(STUDY), shipped_notebooks()
    claims, blocks = opened.ledger.ids, thinnest_blocks(opened.inspect())
    plan = make_plan(books, claims, study=str(STUDY), seed=DEFAULT_SEED, blocks=blocks)
    sources = {book.name: book.path for book in books}
    once = ["--block", blocks[0], "--only", claims[0]]
    for book in books:
        once += [] if book.each_claim else ["--only", book.name]
    ways = [
        ("forked", 2, "", []),
        ("forked", 2, f", each of the {len(books)} once", once),
        ("forked", 1, "", []),
        ("forked", 3, "", []),
        ("plain", 2, "", []),
        ("plain", 1, "", []),
    ]
    rows: list[tuple[str, float, float]] = []
    with tempfile.TemporaryDirectory() as folder:
        for make, jobs, said, options in ways:
            out = str(Path(folder) / str(len(rows)))
            command = [sys.executable, "-c", DEMO, str(STUDY), "--out", out, "--jobs", str(jobs)]
            spent = measured([command + options], WORKBENCH_KERNELS=make)
            rows.append((f"{make} kernels, {jobs} at a time{said}", *spent))
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
    load = f"load {os.getloadavg()[0]:.1f}"
    print(f"{len(plan)} pages of {len(books)} notebooks, {os.cpu_count()} processors, {load}")
    print(f"{'':62}{'wall s':>8}{'ratio':>7}{'processor s':>13}{'ratio':>7}")
    for name, wall, used in rows:
        print(f"{name:62}{wall:8.1f}{wall / rows[0][1]:7.1f}{used:13.1f}{used / rows[0][2]:7.1f}")


if __name__ == "__main__":
    main()
