"""The jobs of a run: in which order they start, how many at a time, what each leaves behind."""

from __future__ import annotations

import asyncio
import contextlib
import os
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from workbench.runs.execute import Failure, execute
from workbench.runs.kernels import TEMPORARY, WorkbenchKernelManager
from workbench.runs.notebook_libraries import load
from workbench.runs.plan import Job
from workbench.runs.progress import Progress
from workbench.runs.report_folder import NOTEBOOKS, PAGES
from workbench.runs.scrub import scrubbed

if TYPE_CHECKING:
    from workbench.claims.judgement import Judgement

MOST_JOBS = 8
SECONDS_TO_CANCEL = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """One job that has ended."""

    job: Job
    failure: Failure | None
    seconds: float

    def entry(self) -> dict[str, Any]:
        """Give its part of the manifest."""
        return {
            "name": self.job.name,
            "title": self.job.title,
            "notebook": self.job.notebook,
            "claim": self.job.claim,
            "parameters": self.job.parameters,
            "file": f"{NOTEBOOKS}/{self.job.name}.ipynb",
            "page": f"{PAGES}/{self.job.name}.html",
            "failure": None if self.failure is None else self.failure.line(),
            "seconds": round(self.seconds, 2),
        }


def run_all(
    plan: Sequence[Job],
    run: Callable[[Job], Done],
    judge: Callable[[], Judgement],
    *,
    at_a_time: int,
) -> tuple[Judgement, list[Done]]:
    """Judge, and run the jobs in threads: those that need no judgement meanwhile, the rest after.

    Those of the single claims come last: many short ones leave no processor idle at the end. The
    work is done in the kernels' own processes. What is done is given in the order of `plan`.
    """
    pool = ThreadPoolExecutor(max_workers=max(at_a_time, 1), thread_name_prefix="notebook")
    started: dict[str, Future[Done]] = {}
    try:
        for job in plan:
            if not job.after_judging:
                started[job.name] = pool.submit(run, job)
        judgement = judge()
        for job in sorted(plan, key=lambda job: job.claim is not None):
            if job.after_judging:
                started[job.name] = pool.submit(run, job)
        return judgement, [started[job.name].result() for job in plan]
    finally:
        # after an error nothing is waited for here: the kernels end next, and with them the threads
        pool.shutdown(wait=False, cancel_futures=True)


def run_job(
    job: Job,
    manager: type[WorkbenchKernelManager],
    partial: Path,
    study: Path,
    out: Path,
    seconds: float,
    told: Progress,
) -> Done:
    """Execute one notebook and write it and its page.

    The kernel works in `partial`, which lies as deep as the folder the notebook will lie in: the
    path of the study is the same from both.
    """
    from workbench.runs.convert import notebook_page

    try:
        executed = execute(
            job.name, job.source, job.parameters, manager=manager, folder=partial, seconds=seconds
        )
    finally:
        close_loop()
    temporary = manager.folder / TEMPORARY
    places = {temporary: "temporary", partial: "report", out: "report", study: study.name}
    notebook = scrubbed(executed.notebook, places)
    failure = executed.failure
    text = load("nbformat").writes(notebook) + "\n"
    (partial / NOTEBOOKS / f"{job.name}.ipynb").write_text(text, encoding="utf-8")
    page = notebook_page(notebook, title=job.title, failure=failure.line() if failure else "")
    (partial / PAGES / f"{job.name}.html").write_text(page, encoding="utf-8")
    told.done(job.name, executed.seconds, failure.line() if failure else "")
    return Done(job=job, failure=failure, seconds=executed.seconds)


def at_a_time() -> int:
    """Give one notebook for each processor this process may use, within reason.

    Kernels hardly wait: with two at a time on two processors the demo took 18.6 s, with three as
    long.
    """
    count = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    return min(count or 1, MOST_JOBS)


def close_loop() -> None:
    """Close the event loop that nbclient leaves in its thread, once what waits in it has ended.

    It may leave one that it has cancelled and not awaited, which would be told of at the end.
    """
    with contextlib.suppress(RuntimeError):
        loop = asyncio.get_event_loop()
        waiting = asyncio.all_tasks(loop)
        for task in waiting:
            task.cancel()
        if waiting:
            loop.run_until_complete(asyncio.wait(waiting, timeout=SECONDS_TO_CANCEL))
        loop.close()
