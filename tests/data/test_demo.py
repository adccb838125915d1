"""The demo study is what its generator writes, and the workbench finds the truth planted in it."""

from __future__ import annotations

import math
import subprocess
import sys
from collections import Counter
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import chi2, rice

from workbench.claims.analysis import Analysis, analyse
from workbench.claims.evidence import gather
from workbench.claims.judge import Judgement
from workbench.claims.verdict import Verdict
from workbench.study import Study, open_study

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
def study(data: Path) -> Study:
    return open_study(data / "demo")


@pytest.fixture(scope="module")
def judgement(study: Study) -> Judgement:
    return study.judge(seed=1)


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
    truth = cast(marlowe_four, quantity, candidate) - cast(marlowe_four, quantity, "works")
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


def holds(verdict: Verdict, marlowe_four: ModuleType) -> bool:
    """Say whether a claim on a mean is true of the families, or of the blocks that were cast."""
    if verdict.quantity == "core_shift":
        truth = mean_shift(marlowe_four, verdict.candidate)
        truth -= mean_shift(marlowe_four, verdict.reference)
    elif verdict.scope == "family":
        truth = marlowe_four.TRUTH.difference(
            verdict.quantity, verdict.candidate, verdict.reference
        )
    else:
        truth = cast(marlowe_four, verdict.quantity, verdict.candidate)
        truth -= cast(marlowe_four, verdict.quantity, verdict.reference)
    return {
        "greater": truth > verdict.margin,
        "less": truth < -verdict.margin,
        "different": abs(truth) > verdict.margin,
        "same": abs(truth) < verdict.margin,
    }[str(verdict.direction)]


def mean_shift(marlowe_four: ModuleType, family: str) -> float:
    """Give the planted mean length of a bore's shift: Rice, blocks and bores scattering together.

    Tilts are as much one way above the middle as the other way below it, and drop out.
    """
    shift = marlowe_four.TRUTH.shifts[family]
    sd = math.hypot(shift.block, shift.bore)
    return float(rice.mean(math.hypot(*shift.mean) / sd, scale=sd))


def cast(marlowe_four: ModuleType, quantity: str, family: str) -> float:
    """Give the true mean of a quantity over the blocks of a family that were cast."""
    blocks = [block for block in marlowe_four.blocks() if block.family == family]
    means = []
    for block in blocks:
        iron = marlowe_four.iron(block, quantity)
        means.append(sum(iron.values()) / len(iron))
    return sum(means) / len(means)


def test_no_decided_claim_is_decided_wrongly(
    judgement: Judgement, marlowe_four: ModuleType
) -> None:
    decided = [
        v
        for v in judgement.verdicts
        if v.figure == "mean" and v.outcome != "unresolved" and v.candidate in marlowe_four.BLOCKS
    ]
    for verdict in decided:
        assert holds(verdict, marlowe_four) == (verdict.outcome == "supported"), verdict.claim


def test_claims_come_out_each_of_the_three_ways(judgement: Judgement) -> None:
    of_means = [verdict for verdict in judgement.verdicts if verdict.figure == "mean"]
    assert Counter(verdict.outcome for verdict in of_means) == {
        "supported": 9,
        "contradicted": 2,
        "unresolved": 2,
    }
    assert {verdict.direction for verdict in of_means} == {"greater", "less", "same", "different"}
    assert {verdict.scope for verdict in of_means} == {"family", "block"}


def test_confounded_claim_carries_its_warning_and_no_other_does(judgement: Judgement) -> None:
    warned = [
        verdict.claim
        for verdict in judgement.verdicts
        if "single_gauge_each" in {threat.code for threat in verdict.warnings}
    ]
    assert warned == ["deepdeck-webs-thicker"]
    codes = {threat.code for threat in verdict_on(judgement, warned[0]).warnings}
    assert "calibration_each" in codes


def test_searched_and_doubtful_readings_are_left_out_and_said(judgement: Judgement) -> None:
    codes = {threat.code for threat in verdict_on(judgement, "deepdeck-walls-same").warnings}
    assert {"searched_excluded", "doubtful_excluded"} <= codes


def test_three_trophy_blocks_are_called_few(judgement: Judgement) -> None:
    verdict = verdict_on(judgement, "deck-thicker")
    assert verdict.candidate_blocks == 3
    assert "few_blocks" in {threat.code for threat in verdict.warnings}


def many_blocks(marlowe_four: ModuleType, family: str, count: int = 20_000) -> NDArray[np.float64]:
    """Draw walls of blocks as planted: one number a block, bore, depth and station."""
    truth, rng = marlowe_four.TRUTH, np.random.default_rng([7, *family.encode()])
    spread, shift = truth.spreads["wall_thickness"], truth.shifts[family]
    bores, depths = len(marlowe_four.BORES), len(marlowe_four.DEPTHS)
    walls = truth.means["wall_thickness"][family] + spread.block * rng.standard_normal((count, 1))
    walls = walls + spread.bore * rng.standard_normal((count, bores))
    walls = walls[..., None, None] + np.zeros((depths, len(marlowe_four.STATIONS)))
    walls += spread.place * rng.standard_normal(walls.shape)
    walls += np.array(list(truth.depths.values()))[:, None]
    walls += np.array(list(truth.stations.values()))
    angles = np.radians(list(marlowe_four.STATIONS.values()))
    for axis, mean in enumerate(shift.mean):
        whole = mean + shift.block * rng.standard_normal((count, 1))
        centre = (whole + shift.bore * rng.standard_normal((count, bores)))[..., None]
        lean = shift.tilt * rng.standard_normal((count, bores, 1))
        centre = centre + lean * np.array(list(marlowe_four.DEPTHS.values()))
        walls -= centre[..., None] * (np.sin(angles) if axis else np.cos(angles))
    return walls


def test_the_drawn_blocks_are_those_of_the_generator(marlowe_four: ModuleType) -> None:
    """Held against the castings themselves: mean and spread of works walls."""
    drawn = many_blocks(marlowe_four, "works")
    mine = [
        np.array(list(marlowe_four.iron(block, "wall_thickness").values()))
        for block in marlowe_four.blocks()
        if block.family == "works"
    ]
    assert np.mean(mine) == pytest.approx(drawn.mean(), abs=0.1)
    assert np.std(mine) == pytest.approx(drawn.std(), rel=0.1)
    least = np.array([row.min() for row in mine])
    assert least.mean() == pytest.approx(drawn.min(axis=(1, 2, 3)).mean(), abs=0.12)


def planted_figure(verdict: Verdict, marlowe_four: ModuleType) -> float:
    """Give the planted difference of a spread, a thinnest place or a share below."""
    families = (verdict.candidate, verdict.reference)
    if verdict.figure == "spread":
        return 0.0  # one spread of each quantity is planted for all families
    drawn = [many_blocks(marlowe_four, family) for family in families]
    if verdict.figure == "thinnest":
        ours, others = (float(walls.min(axis=(1, 2, 3)).mean()) for walls in drawn)
    else:
        ours, others = (float((walls < verdict.threshold).mean()) for walls in drawn)
    return ours - others


@pytest.mark.parametrize("figure", ["spread", "thinnest", "share_below"])
def test_other_figures_are_judged_as_planted(
    judgement: Judgement, marlowe_four: ModuleType, figure: str
) -> None:
    """The interval at 99 % would hold the truth; a decided claim is decided as it is planted."""
    asked = [
        verdict
        for verdict in judgement.verdicts
        if verdict.figure == figure and verdict.quantity != "core_shift"
    ]
    assert {"supported", "unresolved"} <= {verdict.outcome for verdict in asked}
    for verdict in asked:
        truth = planted_figure(verdict, marlowe_four)
        wider = 1.5 * (verdict.high - verdict.low) / 2
        middle = (verdict.high + verdict.low) / 2
        assert abs(truth - middle) < wider, verdict.claim
        holds = {
            "greater": truth > verdict.margin,
            "less": truth < -verdict.margin,
            "same": abs(truth) < verdict.margin,
            "different": abs(truth) > verdict.margin,
        }[str(verdict.direction)]
        if verdict.outcome != "unresolved":
            assert holds == (verdict.outcome == "supported"), verdict.claim


def test_the_family_known_from_print_is_judged_by_what_is_printed(judgement: Judgement) -> None:
    verdict = verdict_on(judgement, "export-less-deck")
    assert (verdict.outcome, verdict.reference_blocks) == ("supported", 3)
    assert (verdict.candidate_blocks, verdict.candidate_readings) == (23, 0)
    assert "known only from print" in verdict.sentence
    assert "an invented magazine" in verdict.sentence
    assert "printed_summary" in {threat.code for threat in verdict.warnings}
