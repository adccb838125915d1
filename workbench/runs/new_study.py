"""A small study to fill in: an invented example with comments, sound as it stands."""

from __future__ import annotations

import shutil
from pathlib import Path

from workbench.errors import RunError
from workbench.runs.report_folder import NAMES_SHOWN

EXAMPLE = Path(__file__).resolve().parent / "templates" / "new_study"
FILES = ("study.toml", "readings.csv", "blocks.csv", "claims.toml")


def new_study(folder: Path) -> tuple[Path, ...]:
    """Write the example to `folder`, which is made or is empty, and give the files written.

    Raises
    ------
    RunError
        When there is something in the folder, or it cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        names = sorted(path.name for path in folder.iterdir())
    except OSError as error:
        raise RunError(f"A study cannot be laid out in {folder}: {error.strerror}.") from None
    if names:
        shown = ", ".join(names[:NAMES_SHOWN]) + (", …" if len(names) > NAMES_SHOWN else "")
        raise RunError(f"{folder} is not empty (it holds {shown}); give a new or an empty folder.")
    return tuple(Path(shutil.copyfile(EXAMPLE / name, folder / name)) for name in FILES)
