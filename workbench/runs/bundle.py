"""The bundle for a sceptic: inputs, executed notebooks, the program, versions, how to rerun it."""

from __future__ import annotations

import hashlib
import shutil
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from workbench.runs.environment import constraints, project_file
from workbench.runs.places import PACKAGE, shipped
from workbench.runs.runner import run_study

STUDY, REPORT, ARTICLE, CODE = "study", "report", "article", "code"
WHEN = (1980, 1, 1, 0, 0, 0)  # the same bytes each time
LEFT = ("__pycache__", "_shipped")
TEXT = """\
# How to run this again

This bundle holds everything the article rests on.

- `study/`: the input files. {names}
- `report/`: every notebook, executed, and `verdicts.json`.
- `article/`: the text, and `numbers.json` with every number in it.
- `code/`: the program itself; `constraints.txt`: the versions it ran with.
- `digests.txt`: the SHA-256 of each file.

You need Python {python} or a later {minor}; libraries of these versions may refuse an earlier
one. In the folder this file lies in:

    python -m venv env
    env/bin/pip install -c constraints.txt ./code
    env/bin/workbench judge study --json{seed}
    env/bin/workbench article study --out again{seed}

The first answer is `report/verdicts.json`; `again/numbers.json` is `article/numbers.json`, byte for
byte with the same versions. With other versions, the last digits may differ. Each notebook in
`report/notebooks` opens in Jupyter and runs from top to bottom: it names the study beside it.

{cautions}
"""
AS_THEY_ARE = "They are copies of the author's."
WITH_LETTERS = (
    "Letters stand in place of the names of operators, sellers and sources, and of notes; nothing "
    "else differs from the author's."
)


def write_bundle(
    target: Path,
    study: Path,
    inputs: Sequence[str],
    texts: Mapping[str, str],
    *,
    seed: int,
    work: Path,
    letters: bool,
    engine: str | None = None,
) -> None:
    """Run every notebook on a copy of the study and pack all of it into `target`.

    Parameters
    ----------
    target
        The zip file to write.
    study
        The study.
    inputs
        Its input files.
    texts
        Files of the article to add, by name.
    seed
        The seed of the run.
    work
        An empty folder to work in; what is left there afterwards is of no use.
    letters
        Whether `study` holds letters in place of names; the text says so.
    engine
        The engine that reduces the readings; see `intake.read_records`.

    Raises
    ------
    RunError
        When a notebook cannot be run.
    """
    for name in inputs:
        copy = work / STUDY / name
        copy.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(study / name, copy)
    run_study(work / STUDY, work / REPORT, seed=seed, progress=False, engine=engine)
    copy_program(work / CODE)
    (work / ARTICLE).mkdir()
    for name, text in texts.items():
        (work / ARTICLE / name).write_text(text, encoding="utf-8")
    (work / "constraints.txt").write_text(constraints(), encoding="utf-8")
    (work / "RERUN.md").write_text(rerun_text(seed, letters=letters), encoding="utf-8")
    pack(work, target)


def rerun_text(seed: int, *, letters: bool) -> str:
    """Say how the bundle is run again."""
    import platform

    from workbench.castings.cautions import CAUTIONS

    return TEXT.format(
        names=WITH_LETTERS if letters else AS_THEY_ARE,
        python=platform.python_version(),
        minor=".".join(platform.python_version_tuple()[:2]),
        seed=f" --seed {seed}",
        cautions=" ".join(CAUTIONS),
    )


def copy_program(target: Path) -> None:
    """Copy the package and its notebooks, with what is needed to install them."""
    shutil.copytree(PACKAGE, target / PACKAGE.name, ignore=shutil.ignore_patterns(*LEFT))
    shutil.copytree(shipped("notebooks"), target / "notebooks")
    (target / "pyproject.toml").write_text(project_file(), encoding="utf-8")


def pack(folder: Path, target: Path) -> None:
    """Pack a folder, its digests first; names sorted and times fixed."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    kept = [path for path in files if not path.name.startswith(".")]
    digests = "".join(
        f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {path.relative_to(folder).as_posix()}\n"
        for path in kept
    )
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(zipfile.ZipInfo("digests.txt", WHEN), digests)
        for path in kept:
            info = zipfile.ZipInfo(path.relative_to(folder).as_posix(), WHEN)
            info.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(info, path.read_bytes())
