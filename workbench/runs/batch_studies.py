"""Many studies run into one folder, each with a report of its own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from workbench.errors import RunError
from workbench.runs.batch import BATCH_FOLDER, INDEX, BatchSummary, Item, run_batch
from workbench.runs.batch_record import (
    RECORDS,
    digest_of_folder,
    digest_of_item,
    file_name,
    forget,
    program,
    read_record,
    tag,
)
from workbench.runs.kernels import WorkbenchKernelManager, kernel_make, kernels_of
from workbench.runs.plan import Notebook, shipped_notebooks
from workbench.runs.progress import shown_progress
from workbench.runs.report_folder import report_folder
from workbench.runs.runner import run_study, seen_from
from workbench.study import DEFAULT_SEED


def run_studies(
    studies: Sequence[str | Path],
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
) -> BatchSummary:
    """Run studies one after another, each into a folder of `out` with its name.

    A study whose files, notebooks, parameters and versions are those of its last report is left;
    one that cannot be opened, or of which a notebook fails, is told and the next one run.

    Parameters
    ----------
    studies : sequence of path
    out : path
        New, or the folder of an earlier batch.
    only, jobs, seed, as_of, progress, engine, parameters, blocks, notebooks, kernels, manager
        As in `runner.run_study`, the same for every study.

    Raises
    ------
    RunError
        When `out` cannot be used.
    """
    folders = list(dict.fromkeys(Path(study).resolve() for study in studies))
    out, make = Path(out).resolve(), kernels or kernel_make()
    books = shipped_notebooks() if notebooks is None else notebooks
    options = {
        "only": list(only),
        "seed": DEFAULT_SEED if seed is None else seed,
        "as_of": as_of,
        "parameters": {name: dict(values) for name, values in (parameters or {}).items()},
        "blocks": list(blocks),
    }
    made_from = {
        "options": options,
        "notebooks": [digest_of_folder(path) for path in sorted({b.path.parent for b in books})],
        "program": program(),
    }
    for folder in folders:
        if folder.is_relative_to(out):
            raise RunError(f"The reports cannot go to {out}: the study {folder} lies in it.")
    with (
        report_folder(folders[0], out, BATCH_FOLDER) as aside,
        shown_progress(progress) as told,
        kernels_of(make, manager) as manager,
    ):
        told.plan(len(folders))

        def run(folder: Path, name: str) -> str:
            forget(out, name)
            summary = run_study(
                folder,
                out / name,
                jobs=jobs,
                progress=False,
                engine=engine,
                notebooks=books,
                kernels=make,
                manager=manager,
                **options,  # type: ignore[arg-type]  # as they came in
            )
            return "; ".join(failure.line() for failure in summary.failed)

        return run_batch(
            items(folders, out, made_from, run),
            out,
            aside,
            title=f"{len(folders)} studies",
            at_a_time=1,
            told=told,
        )


def items(
    folders: Sequence[Path],
    out: Path,
    made_from: dict[str, Any],
    run: Callable[[Path, str], str],
) -> Iterator[Item]:
    """Give one item a study, its files read through for their digest when it is asked for."""
    for folder, own in zip(folders, names_of(folders), strict=True):
        about = {"study": seen_from(out, folder)}
        earlier = read_record(out, own)
        other = earlier is not None and earlier.about != about
        name = f"{own}-{tag(str(folder))}" if other else own
        yield Item(
            name=name,
            about=about,
            digest=digest_of_study(folder, out, made_from),
            page=f"{name}/{INDEX}",
            run=partial(run, folder, name),
        )


def digest_of_study(folder: Path, out: Path, made_from: dict[str, Any]) -> str:
    """Give the digest of what a report is made from; of files that cannot be read there is none."""
    try:
        inputs = digest_of_folder(folder, without=out)
    except OSError:
        return ""
    return digest_of_item(**made_from, inputs=inputs)


def names_of(folders: Sequence[Path]) -> list[str]:
    """Name each study's report by its folder; of several of one name, each by its place as well."""
    taken = Counter(folder.name.lower() for folder in folders)
    own = (RECORDS, "study")
    return [
        f"{file_name(folder.name, str(folder))}-{tag(str(folder))}"
        if taken[folder.name.lower()] > 1 or folder.name in own
        else file_name(folder.name, str(folder))
        for folder in folders
    ]
