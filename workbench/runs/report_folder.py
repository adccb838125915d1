"""The folder of a report: written aside, then moved into place, so that a killed run harms nothing.

A run writes to `.partial-…` inside the folder. When it is done, what the last run left is moved to
`.old-…`, its last file (of a report the manifest) first, and the new is moved in, its last file
last: that one in place says that the run beside it is complete. What a killed run left behind is
put right by the next one.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from workbench.errors import RunError
from workbench.records.lock import lock

INDEX, VERDICTS, MANIFEST = "index.html", "verdicts.json", "manifest.json"
NOTEBOOKS, PAGES = "notebooks", "pages"
PARTIAL, OLD = ".partial-", ".old-"
NAMES_SHOWN = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """What is moved into a folder: `names` in their order, the last of them a JSON file.

    That file says by its `key` that the folder is complete.
    """

    names: tuple[str, ...]
    key: str

    @property
    def last(self) -> str:
        """The file that says that all others are there."""
        return self.names[-1]


REPORT = Content(names=(NOTEBOOKS, PAGES, VERDICTS, INDEX, MANIFEST), key="inputs_digest")


@contextlib.contextmanager
def report_folder(study: Path, out: Path, content: Content = REPORT) -> Iterator[Path]:
    """Give the folder to write a report to, which goes with the block unless it was published.

    Raises
    ------
    RunError
        When `out` is the study or holds it, is a file, holds something other than a report, or
        another run is writing to it.
    """
    if study.is_relative_to(out):
        raise RunError(f"The report cannot go to {out}: that is the study, or a folder around it.")
    try:
        made = not out.exists()
        out.mkdir(parents=True, exist_ok=True)
    except (FileExistsError, NotADirectoryError):
        raise RunError(f"The report cannot go to {out}: there is a file in the way.") from None
    except OSError as error:
        raise RunError(f"The report cannot go to {out}: {error.strerror}.") from None
    if not os.access(out, os.R_OK | os.W_OK | os.X_OK):
        raise RunError(f"The report cannot go to {out}: nothing may be written there.")
    with lock(out) as ours:
        if not ours:
            raise RunError(f"Another run is writing its report to {out}.")
        try:
            recover(out, content)
            check_free(out, content)
            partial = Path(tempfile.mkdtemp(prefix=PARTIAL, dir=out))
            try:
                yield partial
            finally:
                shutil.rmtree(partial, ignore_errors=True)
        finally:
            if made and not any(out.iterdir()):
                out.rmdir()


def publish(partial: Path, out: Path, content: Content = REPORT) -> None:
    """Move a finished report into place."""
    old = Path(tempfile.mkdtemp(prefix=OLD, dir=out))
    for name in reversed(content.names):
        if (out / name).exists():
            (out / name).rename(old / name)
    for name in content.names:
        if (partial / name).exists():
            (partial / name).rename(out / name)
    shutil.rmtree(old)


def recover(out: Path, content: Content = REPORT) -> None:
    """Put back a report whose replacement was cut short, and remove what dead runs left."""
    for old in out.glob(f"{OLD}*"):
        if not (out / content.last).exists():
            for name in content.names:
                if (old / name).exists() or not (old / content.last).exists():
                    remove(out / name)  # of the new run, and moved in before its last file
            for path in old.iterdir():
                path.rename(out / path.name)
        shutil.rmtree(old)
    for partial in out.glob(f"{PARTIAL}*"):
        shutil.rmtree(partial)


def check_free(out: Path, content: Content = REPORT) -> None:
    """Refuse a folder with files in it that no run has written."""
    names = sorted(path.name for path in out.iterdir())
    if not names or holds(out, content):
        return
    shown = ", ".join(names[:NAMES_SHOWN]) + (", …" if len(names) > NAMES_SHOWN else "")
    raise RunError(
        f"The report cannot go to {out}: it holds other files ({shown}). "
        "Give a new or empty folder, or one with an earlier report."
    )


def holds(out: Path, content: Content) -> bool:
    """Tell whether a run has written its last file here."""
    try:
        last = json.loads((out / content.last).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    return isinstance(last, dict) and content.key in last


def remove(path: Path) -> None:
    """Remove a file or a folder, if it is there."""
    if path.is_dir():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)
