"""A study run headless: its records reduced once, its claims judged, every notebook executed."""

from __future__ import annotations

import os
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from workbench.errors import RunError
from workbench.runs.execute import Failure
from workbench.runs.jobs import at_a_time, run_all, run_job
from workbench.runs.kernels import (
    REDUCED,
    WorkbenchKernelManager,
    kernel_make,
    kernels_of,
)
from workbench.runs.manifest import make_manifest, to_text
from workbench.runs.plan import Notebook, make_plan, shipped_notebooks
from workbench.runs.progress import shown_progress
from workbench.runs.report_folder import (
    INDEX,
    MANIFEST,
    NOTEBOOKS,
    PAGES,
    VERDICTS,
    publish,
    report_folder,
)
from workbench.study import DEFAULT_SEED, Study, open_study

if TYPE_CHECKING:
    from workbench.claims.judgement import Judgement

SECONDS_A_NOTEBOOK = 600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSummary:
    """Where a run put what it made, and what it came to."""

    index: Path
    verdicts: Path
    manifest: Path
    judgement: Judgement
    notebooks: int
    failed: tuple[Failure, ...]
    seconds: float


def run_study(
    study: str | Path,
    out: str | Path,
    *,
    only: Sequence[str] = (),
    jobs: int | None = None,
    seed: int | None = None,
    as_of: str | None = None,
    progress: bool = True,
    parameters: Mapping[str, Mapping[str, Any]] | None = None,
    blocks: Sequence[str] = (),
    engine: str | None = None,
    notebooks: Sequence[Notebook] | None = None,
    kernels: str | None = None,
    manager: type[WorkbenchKernelManager] | None = None,
    seconds_a_notebook: float = SECONDS_A_NOTEBOOK,
) -> RunSummary:
    """Run the notebooks of a study and write the report to `out`.

    Parameters
    ----------
    study, out : path
        The study is only read. `out` is made, or holds an earlier report, which stays as it is
        until the new one is complete.
    only : sequence of str
        Names of notebooks and ids of claims to run; all of both when left out.
    jobs : int, optional
        Notebooks at a time; one for each processor when left out.
    seed : int, optional
        Seed of the resampling checks.
    as_of : str, optional
        A day or time: a collection is read as it was then.
    progress : bool
        Whether to tell on standard error what has been done.
    parameters : mapping, optional
        Further parameters, by the name of the notebook.
    blocks : sequence of str, optional
        The blocks to show in full; one of each family, the one with the thinnest wall read, when
        left out.
    engine : str, optional
        The engine that reduces the readings; see `intake.read_records`.
    notebooks : sequence of Notebook, optional
        Those that come with the workbench when left out.
    kernels : str, optional
        `forked` or `plain`; see `kernels`.
    manager : type, optional
        From `open_kernels`, where runs that follow one another share one; of the make that
        `kernels` names.
    seconds_a_notebook : float
        The time one notebook may take.

    Returns
    -------
    RunSummary
        A notebook that fails is kept as far as it came, and named in `failed`.

    Raises
    ------
    StudyError
        When the study cannot be opened.
    RunError
        When `out` cannot be used, or a parameter is refused; then no kernel has been started.
    """
    begun, started = time.monotonic(), datetime.now(UTC).isoformat(timespec="seconds")
    study, out = Path(study).resolve(), Path(out).resolve()
    seed = DEFAULT_SEED if seed is None else seed
    make = kernels or kernel_make()
    with (
        report_folder(study, out) as partial,
        shown_progress(progress) as told,
        kernels_of(make, manager) as manager,
    ):
        opened = open_study(study, as_of=as_of, engine=engine)
        opened.keep(manager.folder / REDUCED)
        books = shipped_notebooks() if notebooks is None else notebooks
        by_block = any(book.each_block for book in books if blocks or not only or book.name in only)
        plan = make_plan(
            books,
            opened.ledger.ids,
            study=seen_from(out / NOTEBOOKS, study),
            seed=seed,
            only=only,
            parameters=parameters,
            blocks=blocks_shown(opened, blocks) if by_block else (),
        )
        told.plan(len(plan))
        for name in (NOTEBOOKS, PAGES):
            (partial / name).mkdir()
        judgement, done = run_all(
            plan,
            lambda job: run_job(job, manager, partial, study, out, seconds_a_notebook, told),
            lambda: judged_for(opened, seed, manager.folder / REDUCED),
            at_a_time=min(jobs or at_a_time(), len(plan)),
        )
        manifest = make_manifest(
            title=opened.title,
            seed=seed,
            as_of=as_of,
            confidence=opened.settings.confidence,
            inputs=opened.digests,
            notebooks=[one.entry() for one in done],
            started=started,
            seconds=time.monotonic() - begun,
            kernels=make,
        )
        write_front(partial, opened, judgement, manifest)
        publish(partial, out)
    return RunSummary(
        index=out / INDEX,
        verdicts=out / VERDICTS,
        manifest=out / MANIFEST,
        judgement=judgement,
        notebooks=len(done),
        failed=tuple(one.failure for one in done if one.failure is not None),
        seconds=time.monotonic() - begun,
    )


def judged(study: Study, seed: int) -> Judgement:
    """Judge the claims of a study; one that states none has no verdicts, and is run too."""
    from workbench.claims.judgement import nothing_claimed

    if study.ledger.silent:
        return nothing_claimed(study.settings, seed=seed)
    return study.judge(seed=seed)


def judged_for(study: Study, seed: int, reductions: Path) -> Judgement:
    """Judge the claims, and keep what is reached for the notebooks."""
    judgement = judged(study, seed)
    study.keep_judgement(judgement, reductions)
    return judgement


def blocks_shown(study: Study, asked: Sequence[str]) -> tuple[str, ...]:
    """Give the blocks that are shown in full: those asked for, else one of each family.

    Raises
    ------
    RunError
        When the study has no such block, with the nearest name.
    """
    from workbench.castings.block_report import nearest_block
    from workbench.castings.blocks_to_show import thinnest_blocks

    names = tuple(str(name) for name in study.records.blocks["block"])
    for name in asked:
        if name not in names:
            raise RunError(
                f"There is no block {name!r} in the study{nearest_block(name, names)}; "
                f"{len(names)} blocks were read."
            )
    return tuple(dict.fromkeys(asked)) or thinnest_blocks(study.inspect())


def write_front(
    partial: Path, opened: Study, judgement: Judgement, manifest: dict[str, Any]
) -> None:
    """Write the three files a reader or a program starts from."""
    from workbench.runs.index_page import index_page

    failures = [job["failure"] for job in manifest["notebooks"] if job["failure"] is not None]
    texts = {
        INDEX: index_page(opened, judgement, manifest, failures),
        VERDICTS: to_text(judgement.to_json()),
        MANIFEST: to_text(manifest),
    }
    for name, text in texts.items():
        (partial / name).write_text(text, encoding="utf-8")


def seen_from(folder: Path, target: Path) -> str:
    """Give the path of `target` as seen from `folder`, with `/`; absolute on another drive."""
    try:
        return Path(os.path.relpath(target, folder)).as_posix()
    except ValueError:
        return target.as_posix()
