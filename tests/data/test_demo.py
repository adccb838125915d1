"""The demo study is what its generator writes, and the workbench finds the truth planted in it."""

from __future__ import annotations

import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from functools import cache
from pathlib import Path
from types import ModuleType

import pytest
from scipy.stats import chi2

from workbench.claims.analysis import Analysis, analyse
from workbench.claims.evidence import gather
from workbench.claims.judgement import Judgement
from workbench.claims.verdict import Verdict
from workbench.study import Study

CONTRASTS = [
    (quantity, candidate)
    for quantity in ("wall_thickness", "deck_thickness", "web_thickness", "hardness", "mass")
    for candidate in ("deepdeck", "trophy")
]
# What is wrong with the faulty rows, in the order of the generator's list: column and code.
FAULTS = [
    ("unit", "missing"),
    ("value", "not_positive"),
    ("quantity", "unknown_quantity"),
    ("value", "not_finite"),
    ("value", "missing"),
    ("value", "not_a_number"),
    ("unit", "unit_mismatch"),
    ("unit", "unknown_unit"),
    ("block", "missing"),
    ("family", "missing"),
    ("bore", "unknown_bore"),
    ("station", "unknown_station"),
    ("sampling", "unknown_sampling"),
    ("contact", "unknown_contact"),
    ("repeat", "repeat_conflict"),
    ("value", "not_finite"),
    ("", "duplicate_row"),
    ("value", "not_a_number"),
    ("value", "formula"),
    ("family", "block_family"),
    ("unit", "impression_unstated"),
    ("value", "not_positive"),
]


@pytest.fixture(scope="module")
def study(shipped_study: Callable[[str], Study]) -> Study:
    return shipped_study("demo")


@pytest.fixture(scope="module")
def judgement(judged: Callable[[str], Judgement]) -> Judgement:
    return judged("demo")


def verdict_on(judgement: Judgement, claim: str) -> Verdict:
    return next(verdict for verdict in judgement.verdicts if verdict.claim == claim)


def test_committed_files_are_the_generated_ones(data: Path, generate_demo: ModuleType) -> None:
    for name, text in generate_demo.files().items():
        assert (data / "demo" / name).read_bytes() == text.encode(), name


def test_check_switch_says_so_too(data: Path) -> None:
    command = [sys.executable, str(data / "generate_demo.py"), "--check"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (0, "All as generated.\n")


def test_check_switch_sees_a_changed_file(
    generate_demo: ModuleType,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(generate_demo, "FOLDER", tmp_path)
    monkeypatch.setattr(generate_demo, "files", cache(generate_demo.files))  # what is made stays
    monkeypatch.setattr(sys, "argv", ["generate_demo.py"])
    assert generate_demo.main() == 0
    monkeypatch.setattr(sys, "argv", ["generate_demo.py", "--check"])
    assert generate_demo.main() == 0
    (tmp_path / "blocks.csv").write_text("block,family\n")
    capsys.readouterr()
    assert generate_demo.main() == 1
    (tmp_path / "readings.csv").unlink()
    assert generate_demo.main() == 1
    said = "Not as generated: blocks.csv.\nNot as generated: readings.csv, blocks.csv.\n"
    assert capsys.readouterr().out == said


def test_says_that_it_is_invented(data: Path, study: Study) -> None:
    assert "invented" in study.title
    for name in ("study.toml", "claims.toml"):
        assert (data / "demo" / name).read_text().startswith("# INVENTED")


def test_every_faulty_row_is_found_and_no_other(study: Study, generate_demo: ModuleType) -> None:
    assert [next(iter(changes), "") for _, _, changes in generate_demo.FAULTY] == [
        {"repeat": "value"}.get(column, column) for column, _ in FAULTS
    ]
    expected = Counter(FAULTS) + Counter([("repeat", "repeat_conflict")])  # both rows of the place
    found = Counter((fault.column, fault.code) for fault in study.records.faults)
    assert found == expected
    assert study.records.rejected == study.records.fault_count == len(FAULTS) + 1


def test_no_row_is_lost(study: Study, generate_demo: ModuleType) -> None:
    written = [row for row in generate_demo.readings() if any(row.values())]
    assert study.records.rows_in == len(written)
    assert study.records.accepted + study.records.rejected == study.records.rows_in


def test_every_block_is_met(study: Study, marlowe_four: ModuleType) -> None:
    assert dict(Counter(study.records.blocks["family"])) == marlowe_four.BLOCKS


@pytest.fixture(scope="module")
def analyses(study: Study, marlowe_four: ModuleType) -> dict[tuple[str, str], Analysis]:
    found = {}
    for quantity, candidate in CONTRASTS:
        evidence = gather(
            study.records.cells,
            quantity=quantity,
            candidate=candidate,
            reference="works",
            unit=study.settings.quantities[quantity].unit,
            calibrations=study.calibrations,
        )
        found[quantity, candidate] = analyse(evidence, study.settings.gauges, "family")
    return found


@pytest.mark.parametrize(("quantity", "candidate"), CONTRASTS)
def test_planted_differences_lie_in_their_intervals(
    analyses: dict[tuple[str, str], Analysis],
    marlowe_four: ModuleType,
    quantity: str,
    candidate: str,
) -> None:
    planted = marlowe_four.TRUTH.difference(quantity, candidate, "works")
    assert analyses[quantity, candidate].difference.interval(0.99).contains(planted)


@pytest.mark.parametrize("thickness", [4.0, 8.0, 14.0])
def test_each_calibration_undoes_what_was_planted_in_its_gauge(
    study: Study, generate_demo: ModuleType, marlowe_four: ModuleType, thickness: float
) -> None:
    looks = {(look.calibration, look) for block in marlowe_four.blocks() for look in block.passes()}
    assert {name for name, _ in looks} == set(study.calibrations.by_name)
    for name, look in looks:
        line = study.calibrations.line_for(name, look.gauge, "mm")
        assert line is not None
        shown = generate_demo.shown(thickness, look)
        error = abs(line.corrected(shown) - thickness)
        assert error < 3.5 * float(line.shared_uncertainty(shown))  # t at 4 degrees of freedom


@pytest.mark.parametrize(
    ("quantity", "candidate"),
    [("deck_thickness", "trophy"), ("web_thickness", "deepdeck"), ("wall_thickness", "trophy")],
)
def test_correction_brings_the_blocks_measured_nearer_to_the_iron(
    study: Study, marlowe_four: ModuleType, quantity: str, candidate: str
) -> None:
    """The gauges were off by 0.3 % and some hundredths; the blocks cast are known exactly."""
    truth = marlowe_four.cast_mean(quantity, candidate) - marlowe_four.cast_mean(quantity, "works")
    asked = {"quantity": quantity, "candidate": candidate, "reference": "works", "unit": "mm"}
    cells, gauges = study.records.cells, study.settings.gauges
    shown = analyse(gather(cells, **asked), gauges, "block").difference
    found = analyse(
        gather(cells, **asked, calibrations=study.calibrations), gauges, "block"
    ).difference
    assert abs(found.estimate - truth) < abs(shown.estimate - truth)
    assert found.interval(0.99).contains(truth)


def test_no_reading_by_ultrasound_stays_uncorrected(judgement: Judgement) -> None:
    for verdict in judgement.verdicts:
        codes = {threat.code for threat in verdict.warnings}
        assert "calibration_unusable" not in codes
        thickness = verdict.quantity.endswith("_thickness") and verdict.has_numbers
        if verdict.quantity == "core_shift":  # found from corrected walls
            assert "uncorrected_readings" not in codes
            continue
        assert ("uncorrected_readings" in codes) == (verdict.has_numbers and not thickness)
        assert bool(verdict.measuring) == thickness


@pytest.mark.parametrize("quantity", ["wall_thickness", "deck_thickness", "hardness"])
def test_planted_spread_between_blocks_is_recovered(
    analyses: dict[tuple[str, str], Analysis], marlowe_four: ModuleType, quantity: str
) -> None:
    """Block means scatter by chi-square about the planted variance: 70 blocks, 2 families."""
    spread = marlowe_four.TRUTH.spreads[quantity]
    variances = analyses[quantity, "deepdeck"].components
    found = variances["block"] + variances.get("bore", 0.0) / 4
    planted = spread.block**2 + spread.bore**2 / 4
    low, high = chi2.ppf([0.005, 0.995], 68) / 68
    assert low < found / planted < high


@pytest.mark.parametrize("quantity", ["wall_thickness", "deck_thickness"])
def test_planted_spread_between_bores_is_recovered(
    analyses: dict[tuple[str, str], Analysis], marlowe_four: ModuleType, quantity: str
) -> None:
    """Bore means scatter by chi-square within their blocks: 70 blocks, 3 each."""
    variances = analyses[quantity, "deepdeck"].components
    low, high = chi2.ppf([0.005, 0.995], 210) / 210
    assert low < variances["bore"] / marlowe_four.TRUTH.spreads[quantity].bore ** 2 < high


def test_core_shift_is_in_the_residual_of_the_walls(
    analyses: dict[tuple[str, str], Analysis], marlowe_four: ModuleType
) -> None:
    """A shift of variance S on each axis adds S (cos^2 + sin^2) = S to readings round a bore."""
    truth = marlowe_four.TRUTH
    spread, shift = truth.spreads["wall_thickness"], truth.shifts["works"]
    planted = spread.place**2 + spread.repeat**2
    planted += shift.block**2 + shift.bore**2 + shift.tilt**2 * 2 / 3
    found = analyses["wall_thickness", "deepdeck"].components["residual"]
    assert found == pytest.approx(planted, rel=0.1)
