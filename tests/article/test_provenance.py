"""The line at the foot of a figure."""

from __future__ import annotations

from importlib.metadata import version
from pathlib import Path

from workbench.article.provenance import provenance
from workbench.study import open_study


def test_the_foot_names_study_inputs_version_and_seed(small_study: Path) -> None:
    first = provenance(open_study(small_study), seed=7)
    assert first.startswith("A <b>small</b> study · inputs ")
    assert first.endswith(f"block-workbench {version('block-workbench')} · seed 7")
    readings = small_study / "readings.csv"
    readings.write_text(readings.read_text(encoding="utf-8").replace("41.0", "41.1"), "utf-8")
    assert provenance(open_study(small_study), seed=7) != first
