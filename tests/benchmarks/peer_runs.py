"""A headless run of the demo beside a loop of papermill's own command."""

from __future__ import annotations

import subprocess
import sys
import tempfile

from bench_run import DEMO
from bench_run import STUDY as DEMO_STUDY
from peer_time import Way, spent

LOOPED = 4


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
