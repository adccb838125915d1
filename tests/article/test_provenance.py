"""The line at the foot of a figure."""

from __future__ import annotations

from importlib.metadata import version
from pathlib import Path

import pytest

from workbench.article.provenance import about, provenance
from workbench.errors import Refusal, StudyError
from workbench.study import open_study


def test_the_foot_names_study_inputs_version_and_seed(small_study: Path) -> None:
    first = provenance(open_study(small_study), seed=7)
    assert first.startswith("A <b>small</b> study · inputs ")
    assert first.endswith(f"block-workbench {version('block-workbench')} · seed 7")
    readings = small_study / "readings.csv"
    readings.write_text(readings.read_text(encoding="utf-8").replace("41.0", "41.1"), "utf-8")
    assert provenance(open_study(small_study), seed=7) != first


@pytest.mark.parametrize("seed", ["x", -1, 1.5, None, True])
def test_what_is_no_seed_is_refused_before_anything_is_drawn(
    small_study: Path, seed: object
) -> None:
    study = open_study(small_study)
    for named in (about, provenance):
        with pytest.raises(Refusal, match="whole number of 0 or more"):
            named(study, seed=seed)  # type: ignore[arg-type, operator]


def test_what_is_no_path_is_refused() -> None:
    with pytest.raises(StudyError, match="a folder, given by its path in quotes, not 5"):
        open_study(5)  # type: ignore[arg-type]
