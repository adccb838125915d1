"""What a headless run keeps of a study for its notebooks: where, and how what is kept is opened.

All of it lies in a folder of the run's own, in a folder for each study, and goes with the run.
"""

from __future__ import annotations

import hashlib
import os
import pickle
from collections.abc import Mapping
from pathlib import Path
from typing import Any

REDUCTIONS = "WORKBENCH_REDUCTIONS"


def reduction_name(folder: Path) -> str:
    """Name the reduction of a study among those a run keeps: by the place of the study."""
    return hashlib.sha256(os.fsencode(folder.resolve())).hexdigest()[:16]


def kept_reduction(folder: Path) -> Path | None:
    """Give the reduction that the run this process belongs to has kept of a study, if any."""
    reductions = os.environ.get(REDUCTIONS)
    kept = Path(reductions) / reduction_name(folder) if reductions else None
    return kept if kept is not None and kept.is_dir() else None


def keep_reached(found: object, path: Path, digests: Mapping[str, str]) -> None:
    """Keep what was reached on these inputs; who looks meanwhile sees all of it or nothing."""
    part = path.with_suffix(f".{os.getpid()}.part")
    part.write_bytes(pickle.dumps((found, dict(digests))))
    part.replace(path)


def kept_reached(path: Path, digests: Mapping[str, str]) -> Any:
    """Give what is kept there of these very inputs; None where there is nothing."""
    if not path.is_file():
        return None
    found, of = pickle.loads(path.read_bytes())  # noqa: S301  written by our own run
    return found if of == digests else None
