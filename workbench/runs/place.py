"""One block of a study placed: shown in the terminal, as JSON, or written as its sheet."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from workbench.study import DEFAULT_SEED, doubts_json, open_study

if TYPE_CHECKING:
    from workbench.castings.block_report import BlockReport
    from workbench.castings.inspection import Inspection
    from workbench.study import Study


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A study, the report of one of its blocks, and the seed its walls were drawn with."""

    study: Study
    inspection: Inspection
    report: BlockReport
    seed: int

    def to_json(self) -> dict[str, Any]:
        """Give the report as plain values."""
        from workbench.castings.block_json import block_values

        return {
            "study": self.study.title,
            "seed": self.seed,
            **doubts_json(self.study),
            **block_values(self.report),
        }

    def show(self) -> None:
        """Print the report."""
        from workbench.runs.terminal_block import print_block

        print_block(self.report, self.study.settings, self.study.doubts)

    def write(self, folder: Path) -> tuple[Path, ...]:
        """Write the sheet of the block into a folder; give the paths."""
        from workbench.runs.sheet import write_sheet

        return write_sheet(self.study, self.inspection, self.report, self.seed, folder)


def place_in_study(
    study: str | Path,
    block: str,
    *,
    duty: str | None = None,
    seed: int | None = None,
    engine: str | None = None,
) -> Placed:
    """Open a study and report on one of its blocks.

    Raises
    ------
    StudyError
        When the study cannot be opened, or its [fitness] or [boring] have faults.
    Refusal
        When it has no such block or no such duty.
    """
    import numpy as np

    from workbench.castings.block_report import block_report

    used = DEFAULT_SEED if seed is None else seed
    opened = open_study(study, engine=engine)
    inspection = opened.inspect()
    report = block_report(inspection, block, generator=np.random.default_rng(used), duty=duty)
    return Placed(study=opened, inspection=inspection, report=report, seed=used)
