"""Which notebook runs with which parameters: each once, or once a claim or a block."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from workbench.errors import RunError
from workbench.runs.notebook_libraries import load
from workbench.runs.parameters import (
    ArticleParameters,
    BlockParameters,
    ClaimParameters,
    DistributionsParameters,
    FitsParameters,
    IntervalsParameters,
    MeasuringParameters,
    PlanParameters,
    RecordsParameters,
    ShiftParameters,
    StudyParameters,
    SummaryParameters,
    ThinSpotsParameters,
    WorthParameters,
    check_cell,
    checked,
    stated,
)
from workbench.runs.places import shipped

NAME_LENGTH = 60
FORMAT = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Notebook:
    """A notebook that can be run, and what it takes.

    `each_claim` when it runs once a claim, `each_block` when once for each block shown. One that
    `needs_claims` is left out where the study states none; one that `shows_verdicts` is not.
    """

    path: Path
    model: type[StudyParameters]
    title: str
    each_claim: bool = False
    each_block: bool = False
    needs_claims: bool = False
    shows_verdicts: bool = False

    @property
    def after_judging(self) -> bool:
        """Tell whether it takes up what the run has judged, and so waits for that."""
        return self.each_claim or self.needs_claims or self.shows_verdicts

    @property
    def name(self) -> str:
        """The name it is asked for by."""
        return self.path.stem


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One run of one notebook; `name` is the stem of the files it makes.

    One `after_judging` takes up what the run has judged.
    """

    name: str
    title: str
    notebook: str
    claim: str | None
    parameters: dict[str, Any]
    source: Any = field(repr=False)
    after_judging: bool = False


def shipped_notebooks() -> tuple[Notebook, ...]:
    """Give the notebooks that come with the workbench, in the order a reader takes them."""
    folder = shipped("notebooks")
    return (
        Notebook(
            path=folder / "records.ipynb",
            model=RecordsParameters,
            title="Records and coverage",
        ),
        Notebook(
            path=folder / "measuring.ipynb",
            model=MeasuringParameters,
            title="Gauges, calibrations and uncertainty",
            shows_verdicts=True,
        ),
        Notebook(
            path=folder / "distributions.ipynb",
            model=DistributionsParameters,
            title="Distributions by family",
        ),
        Notebook(path=folder / "fits.ipynb", model=FitsParameters, title="Fits, tails and limits"),
        Notebook(
            path=folder / "thin_spots.ipynb",
            model=ThinSpotsParameters,
            title="Thin spots",
        ),
        Notebook(
            path=folder / "shift.ipynb",
            model=ShiftParameters,
            title="Core shift and fitness by family",
        ),
        Notebook(
            path=folder / "block.ipynb", model=BlockParameters, title="Block", each_block=True
        ),
        Notebook(
            path=folder / "intervals.ipynb",
            model=IntervalsParameters,
            title="Means, differences and their intervals",
        ),
        Notebook(
            path=folder / "claim.ipynb", model=ClaimParameters, title="Claim", each_claim=True
        ),
        Notebook(
            path=folder / "plan.ipynb",
            model=PlanParameters,
            title="What to measure next",
            needs_claims=True,
        ),
        Notebook(
            path=folder / "worth.ipynb",
            model=WorthParameters,
            title="Worth: is the dear block worth its price",
        ),
        Notebook(
            path=folder / "summary.ipynb",
            model=SummaryParameters,
            title="Summary of the claims",
            needs_claims=True,
        ),
        Notebook(
            path=folder / "article.ipynb",
            model=ArticleParameters,
            title="The article",
            needs_claims=True,
        ),
    )


def make_plan(
    notebooks: Sequence[Notebook],
    claims: Sequence[str],
    *,
    study: str,
    seed: int,
    only: Sequence[str] = (),
    parameters: Mapping[str, Mapping[str, Any]] | None = None,
    blocks: Sequence[str] = (),
) -> tuple[Job, ...]:
    """Lay out the jobs of a run, every parameter checked.

    Parameters
    ----------
    notebooks : sequence of Notebook
    claims : sequence of str
        The ids of the ledger.
    study : str
        The study as the notebooks are to open it.
    seed : int
    only : sequence of str
        Names of notebooks and ids of claims; all of both when left out.
    parameters : mapping, optional
        Further parameters, by the name of the notebook.
    blocks : sequence of str
        The blocks shown, each in a notebook of its own.

    Raises
    ------
    RunError
        When one of `only` or a parameter names what is not there, a value has another type, or a
        notebook cannot be read or does not agree with its model.
    """
    extra = {name: dict(values) for name, values in (parameters or {}).items()}
    names = [notebook.name for notebook in notebooks]
    for name in extra:
        if name not in names:
            raise RunError(f"There is no notebook {name!r}; there are {', '.join(names)}.")
    jobs: list[Job] = []
    for notebook in notebooks:
        source = read(notebook)
        given = {"study": study, "seed": seed} | extra.get(notebook.name, {})
        for about in subjects(notebook, claims, blocks):
            values = given | about
            told = next(iter(about.values()), None)
            jobs.append(
                Job(
                    name=notebook.name if told is None else f"{notebook.name}-{told}",
                    title=notebook.title if told is None else f"{notebook.title} {told}",
                    notebook=notebook.name,
                    claim=about.get("claim"),
                    parameters=checked(notebook.name, notebook.model, values),
                    source=source,
                    after_judging=notebook.after_judging,
                )
            )
    showing = [book.name for book in notebooks if book.each_claim or book.needs_claims]
    for name in only:
        if name in showing and not claims:
            raise RunError(f"The notebook “{name}” shows claims, and the study states none.")
    return with_file_names(chosen(jobs, only, names))


def subjects(
    notebook: Notebook, claims: Sequence[str], blocks: Sequence[str]
) -> list[dict[str, str]]:
    """Give what each run of a notebook is about, as parameters: nothing, a claim, or a block."""
    if notebook.each_claim:
        return [{"claim": claim} for claim in claims]
    if notebook.each_block:
        return [{"block": block} for block in blocks]
    return [{}] if claims or not notebook.needs_claims else []


def parameters_stated(
    notebooks: Sequence[Notebook], only: Sequence[str], items: Sequence[str]
) -> dict[str, dict[str, Any]]:
    """Give the parameters written as `NAME=VALUE` for the one notebook that is to run.

    Raises
    ------
    RunError
        Where there are any and `only` names no notebook or several, or one is not written as it
        must be.
    """
    if not items:
        return {}
    named = [notebook for notebook in notebooks if notebook.name in only]
    if len(named) != 1:
        names = ", ".join(notebook.name for notebook in notebooks)
        raise RunError(
            f"Parameters are set for one notebook, named by --only; the notebooks are {names}."
        )
    return {named[0].name: stated(named[0].name, named[0].model, items)}


def chosen(jobs: list[Job], only: Sequence[str], names: Sequence[str]) -> list[Job]:
    """Keep the jobs of the notebooks and claims asked for, in the order of all."""
    there = {name for job in jobs for name in (job.notebook, job.claim)}
    for name in only:
        if name not in there:
            claims = [job.claim for job in jobs if job.claim is not None]
            raise RunError(
                f"There is no notebook and no claim {name!r}; the notebooks are "
                f"{', '.join(names)}, the claims {', '.join(dict.fromkeys(claims)) or 'none'}."
            )
    return [job for job in jobs if not only or job.notebook in only or job.claim in only]


def with_file_names(jobs: Iterable[Job]) -> tuple[Job, ...]:
    """Make each job's name fit for a file on any system, and all of them different."""
    taken: set[str] = set()
    result = []
    for job in jobs:
        stem = re.sub(r"[^A-Za-z0-9_-]+", "-", job.name).strip("-")[:NAME_LENGTH] or "notebook"
        name, number = stem, 1
        while name.lower() in taken:
            number += 1
            name = f"{stem}-{number}"
        taken.add(name.lower())
        result.append(replace(job, name=name))
    return tuple(result)


def read(notebook: Notebook) -> Any:
    """Read a notebook and hold it against its model."""
    nbformat = load("nbformat")
    try:
        text = notebook.path.read_text(encoding="utf-8")
        raw = json.loads(text)
        if not isinstance(raw, dict) or raw.get("nbformat") != FORMAT:
            raise ValueError(f"it is not of notebook format {FORMAT}")
        nbformat.validate(raw)
        source = nbformat.reads(text, as_version=FORMAT)
    except FileNotFoundError:
        raise RunError(f"There is no notebook at {notebook.path}.") from None
    except (OSError, ValueError, TypeError, LookupError, nbformat.ValidationError) as error:
        raise RunError(
            f"{notebook.path} cannot be read as a notebook: {str(error).splitlines()[0]}"
        ) from None
    check_cell(notebook.name, source, notebook.model)
    return source
