"""One notebook run over many parameter sets of a study: every block, every claim, every duty."""

from __future__ import annotations

import hashlib
import math
import os
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from workbench.errors import RunError
from workbench.runs.batch import BATCH_FOLDER, BatchSummary, Item, run_batch
from workbench.runs.batch_record import digest_of_item, file_name, forget, program
from workbench.runs.batch_sets import over, sets
from workbench.runs.jobs import at_a_time, run_job
from workbench.runs.kernels import REDUCED, WorkbenchKernelManager, kernel_make, kernels_of
from workbench.runs.manifest import digest_of
from workbench.runs.parameters import checked
from workbench.runs.plan import Job, Notebook, read, shipped_notebooks
from workbench.runs.progress import Silence, shown_progress
from workbench.runs.report_folder import NOTEBOOKS, PAGES, report_folder
from workbench.runs.runner import SECONDS_A_NOTEBOOK, judged, seen_from
from workbench.study import DEFAULT_SEED, open_study


def run_over(
    study: str | Path,
    out: str | Path,
    *,
    only: str | None,
    each: Sequence[str],
    jobs: int | None = None,
    seed: int | None = None,
    as_of: str | None = None,
    progress: bool = True,
    parameters: Mapping[str, Any] | None = None,
    engine: str | None = None,
    notebooks: Sequence[Notebook] | None = None,
    kernels: str | None = None,
    manager: type[WorkbenchKernelManager] | None = None,
    seconds_a_notebook: float = SECONDS_A_NOTEBOOK,
) -> BatchSummary:
    """Run one notebook once for every combination of the values of `each`.

    What an earlier call has done of the same inputs, notebook, parameters and versions is left.

    Parameters
    ----------
    study, out : path
        The study is only read; `out` is new, or holds an earlier batch, whose results stay until
        each is replaced by its own.
    only : str
        The name of the notebook.
    each : sequence of str
        What it is run over; see `batch_sets.over`.
    jobs, seed, as_of, progress, engine, notebooks, kernels, manager, seconds_a_notebook
        As in `runner.run_study`.
    parameters : mapping, optional
        Further parameters, the same for all.

    Raises
    ------
    StudyError
        When the study cannot be opened.
    RunError
        When `out` cannot be used, or a name or value is refused; then no kernel has been started.
    """
    study, out = Path(study).resolve(), Path(out).resolve()
    seed = DEFAULT_SEED if seed is None else seed
    book = named(shipped_notebooks() if notebooks is None else notebooks, only)
    source = read(book)
    with (
        report_folder(study, out, BATCH_FOLDER) as partial,
        shown_progress(progress) as told,
        kernels_of(kernels or kernel_make(), manager) as manager,
    ):
        opened = open_study(study, as_of=as_of, engine=engine)
        axes = over(opened, book, each)
        given = {"study": seen_from(out / NOTEBOOKS, study), "seed": seed} | dict(parameters or {})
        for name in axes.keys() & given.keys():
            raise RunError(f"The parameter {name} is set, and the notebook is to be run over it.")
        for values in sets(axes):
            checked(book.name, book.model, given | values)
        told.plan(math.prod(len(values) for values in axes.values()))
        opened.keep(manager.folder / REDUCED)
        opened.keep_judgement(judged(opened, seed), manager.folder / REDUCED)
        for name in (NOTEBOOKS, PAGES):
            (partial / name).mkdir()
            (out / name).mkdir(exist_ok=True)
        made_from = {
            "inputs": digest_of(opened.digests),
            "notebook": hashlib.sha256(book.path.read_bytes()).hexdigest(),
            "program": program(),
        }
        jobs_of = (job_of(book, source, given, values) for values in sets(axes))
        title, threads = f"{book.title}: {opened.title}", jobs or at_a_time()
        del opened
        return run_batch(
            items(jobs_of, axes, made_from, manager, partial, study, out, seconds_a_notebook),
            out,
            partial,
            title=title,
            at_a_time=threads,
            told=told,
        )


def named(notebooks: Sequence[Notebook], name: str | None) -> Notebook:
    """Give the notebook of a name.

    Raises
    ------
    RunError
        When there is none.
    """
    for book in notebooks:
        if book.name == name:
            return book
    names = ", ".join(book.name for book in notebooks)
    raise RunError(f"What is run over many values is one notebook, named by --only: {names}.")


def job_of(book: Notebook, source: Any, given: dict[str, Any], values: dict[str, Any]) -> Job:
    """Give the job of one parameter set."""
    words = [" ".join(one) if isinstance(one, list) else f"{one}" for one in values.values()]
    # two words are parted by a sign that no file name keeps, so that a digest is added: `a-b c`
    # and `a b-c` are two names
    name = f"{book.name}-{' '.join(words)}"
    return Job(
        name=file_name(name, repr(values)),
        title=f"{book.title} {' '.join(words)}",
        notebook=book.name,
        claim=values.get("claim"),
        parameters=checked(book.name, book.model, given | values),
        source=source,
    )


def items(
    jobs: Iterator[Job],
    axes: Mapping[str, Any],
    made_from: dict[str, Any],
    manager: type[WorkbenchKernelManager],
    partial: Path,
    study: Path,
    out: Path,
    seconds: float,
) -> Iterator[Item]:
    """Give the items of a batch, each made when it is asked for."""
    for job in jobs:

        def run(job: Job = job) -> str:
            done = run_job(job, manager, partial, study, out, seconds, Silence())
            moved(job.name, partial, out)
            return done.failure.line() if done.failure else ""

        yield Item(
            name=job.name,
            about={name: job.parameters[name] for name in axes},
            digest=digest_of_item(**made_from, parameters=job.parameters),
            page=f"{PAGES}/{job.name}.html",
            run=run,
        )


def moved(name: str, partial: Path, out: Path) -> None:
    """Move the two finished files of an item into place; its record goes first, to be made anew."""
    forget(out, name)
    for file in (f"{NOTEBOOKS}/{name}.ipynb", f"{PAGES}/{name}.html"):
        os.replace(partial / file, out / file)
