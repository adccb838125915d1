"""Claims on corrected readings, from rows of calibrations to the verdict."""

import math

import numpy as np
import pandas as pd
import pytest
from scipy.linalg import hadamard

INCH = 25.4
NAMES = ("C1", "C2")


def parts(lab, *, slope=1.0, zero=0.0, apart=False, blocks=6):
    """Give two families as a gauge shows them, under one calibration or one each."""
    made = [
        lab.readings(family, mean, blocks=blocks, seed=11).assign(calibration=name)
        for family, mean, name in (("trophy", 12.0, NAMES[int(apart)]), ("works", 11.0, "C1"))
    ]
    return [part.assign(value=zero + slope * part["value"]) for part in made]


def judged(lab, readings, *calibrations, step=1e-4, **fields):
    return lab.verdict(
        lab.cells(*readings, step=step),
        given={"calibrations": pd.concat(calibrations, ignore_index=True)} if calibrations else {},
        **fields,
    )


@pytest.mark.parametrize("scope", ["family", "block"])
def test_what_a_gauge_does_to_every_reading_is_undone(lab, scope):
    shown = parts(lab, slope=1.29, zero=0.3)
    line = lab.calibration("C1", slope=1.29, zero=0.3, noise=0.0)
    found = judged(lab, shown, line, scope=scope)
    plain = [part.assign(calibration="") for part in parts(lab)]
    truth = judged(lab, plain, scope=scope)
    assert found.estimate == pytest.approx(truth.estimate, abs=1e-4)
    assert found.outcome == truth.outcome
    wrong = judged(lab, [part.assign(calibration="") for part in shown], scope=scope)
    assert wrong.estimate == pytest.approx(1.29 * truth.estimate, abs=1e-4)


@pytest.mark.parametrize(
    ("apart", "margin"), [(False, 0.5), (True, 0.5), (True, 1.0), (False, 1.5)]
)
def test_the_same_in_inches_is_the_same_verdict(lab, apart, margin):
    """Values are whole thousandths of an inch, which are ten-thousandths of 0.254 mm too."""
    shown = parts(lab, apart=apart, slope=1.05)
    for part in shown:
        part["value"] = np.round(part["value"] / INCH, 3) * INCH
    lines = [lab.calibration(name, slope=1.05) for name in NAMES[: 1 + apart]]
    metric = judged(lab, shown, *lines, margin=margin)
    inches = [part.assign(value=part["value"] / INCH, unit="in") for part in shown]
    numbers = ["reference", "indicated", "reference_uncertainty", "step"]
    lines_in_inches = [
        line.assign(unit="in", **{name: line[name] / INCH for name in numbers}) for line in lines
    ]
    for readings, given, step in (
        (inches, lines, 1e-3),
        (inches, lines_in_inches, 1e-3),
        (shown, lines_in_inches, 1e-4),
    ):
        imperial = judged(lab, readings, *given, step=step, unit="in", margin=margin / INCH)
        assert imperial.outcome == metric.outcome
        assert imperial.estimate * INCH == pytest.approx(metric.estimate, rel=1e-6)
        assert imperial.standard_error * INCH == pytest.approx(metric.standard_error, rel=1e-6)
        assert imperial.p_value == pytest.approx(metric.p_value, rel=1e-4, abs=1e-12)
        assert imperial.gauge_uncertainty * INCH == pytest.approx(
            metric.gauge_uncertainty, rel=1e-6
        )
        assert {w.code for w in imperial.warnings} == {w.code for w in metric.warnings}


def moved_by_each_piece(lab, readings, lines, u):
    """Judge again with each piece off by its uncertainty; give the root sum of squared moves."""
    here = judged(lab, readings, *lines).estimate
    squares = 0.0
    for at, line in enumerate(lines):
        for piece in line["reference"].unique():
            off = line.assign(
                reference=line["reference"].where(line["reference"] != piece, piece + u)
            )
            others = [other if i != at else off for i, other in enumerate(lines)]
            squares += (judged(lab, readings, *others).estimate - here) ** 2
    return math.sqrt(squares)


@pytest.mark.parametrize("apart", [False, True])
def test_the_uncertainty_of_the_pieces_is_what_moving_them_does(lab, apart):
    """The law of propagation (JCGM 100, 5.1.3, note 2) done by judging anew."""
    u = 0.002
    names = NAMES[: 1 + apart]
    lines = [lab.calibration(name, noise=0.0, u=u, material=f"of {name}") for name in names]
    readings = parts(lab, apart=apart)
    found = judged(lab, readings, *lines)
    moved = moved_by_each_piece(lab, readings, lines, u)
    pieces = math.hypot(*(size for name, size in found.measuring if name.startswith("piece")))
    assert pieces == pytest.approx(moved, rel=0.01)


def test_an_offset_cancels_under_one_calibration_and_enters_under_two(lab):
    off = 0.2
    one = lab.calibration("C1", noise=0.0)
    shifted = one.assign(reference=one["reference"] - off)
    together = parts(lab)
    assert judged(lab, together, shifted).estimate == pytest.approx(
        judged(lab, together, one).estimate, abs=1e-9
    )
    other = lab.calibration("C2", noise=0.0)
    apart = parts(lab, apart=True)
    moved = judged(lab, apart, shifted, other).estimate - judged(lab, apart, one, other).estimate
    assert moved == pytest.approx(off, abs=1e-6)


def test_under_different_calibrations_the_interval_is_wider(lab):
    lines = [lab.calibration(name, u=0.05, material=f"of {name}") for name in NAMES]
    together, apart = judged(lab, parts(lab), lines[0]), judged(lab, parts(lab, apart=True), *lines)
    assert apart.gauge_uncertainty > 3 * together.gauge_uncertainty
    assert apart.high - apart.low > together.high - together.low
    assert {"calibration_each"} == {w.code for w in apart.warnings} - {
        w.code for w in together.warnings
    }


def test_a_piece_both_calibrations_were_made_on_is_one_error(lab):
    u = 0.05
    apart = parts(lab, apart=True)
    of_one = judged(lab, apart, *(lab.calibration(name, u=u, piece="P") for name in NAMES))
    of_two = judged(lab, apart, *(lab.calibration(name, u=u, piece=f"P{name}") for name in NAMES))
    assert of_one.gauge_uncertainty < 0.3 * of_two.gauge_uncertainty


def test_the_scatter_of_a_calibration_of_one_block_is_not_counted_twice(lab):
    """Recalibrated for each block, its error is in the spread between blocks already."""
    shown, lines = [], []
    for part in parts(lab):
        names = part["family"] + part["block"]
        shown.append(part.assign(calibration=names))
        lines += [lab.calibration(name, u=0.01) for name in names.unique()]
    of_families = judged(lab, shown, *lines)
    of_blocks = judged(lab, shown, *lines, scope="block")
    assert not [name for name, _ in of_families.measuring if name.startswith("scatter")]
    assert len([name for name, _ in of_blocks.measuring if name.startswith("scatter")]) == 12
    assert [name for name, _ in of_families.measuring if name.startswith("piece")]


def test_recalibrated_for_each_block_the_interval_covers(lab):
    """Scatter of 0.05 a reading, 2 readings a piece: coverage of 95 % intervals, 40 studies."""
    held = 0
    for seed in range(40):
        generator = np.random.default_rng(seed)
        shown, lines = [], []
        for family, mean in (("trophy", 12.0), ("works", 11.0)):
            part = lab.readings(family, mean, bores=1, between=0.05, bore_spread=0.0, seed=seed)
            part["calibration"] = family + part["block"]
            for name in part["calibration"].unique():
                zero = 0.2 * generator.standard_normal()  # set anew for each block
                part.loc[part["calibration"] == name, "value"] += zero
                lines.append(lab.calibration(name, zero=zero, noise=0.05, u=0.0, seed=seed))
            shown.append(part)
        found = judged(lab, shown, *lines)
        held += found.low <= 1.0 <= found.high
    assert held >= 34  # binomial: fewer of 40 at 95 % have a chance of 0.3 %


def test_gauges_of_corrected_readings_are_no_factor_but_those_of_others_are(lab):
    """Two gauges, each calibrated: their difference is corrected, not estimated."""
    readings = [
        part.assign(
            gauge=np.where(part["bore"] == "1", "ug1", "ug2"),
            calibration=np.where(part["bore"] == "1", "C1", "C2"),
        )
        for part in parts(lab)
    ]
    lines = [
        lab.calibration("C1", gauge="ug1", zero=0.0, noise=0.0),
        lab.calibration("C2", gauge="ug2", zero=0.5, noise=0.0),
    ]
    for part in readings:
        part.loc[part["gauge"] == "ug2", "value"] += 0.5
    plain = judged(lab, [part.assign(calibration="") for part in parts(lab)])
    assert judged(lab, readings, *lines).estimate == pytest.approx(plain.estimate, abs=1e-4)


def test_the_readings_a_faulty_calibration_leaves_are_answered(lab):
    falling = lab.calibration("C1").assign(indicated=lambda rows: 30 - rows["indicated"])
    found = judged(lab, parts(lab), falling)
    plain = judged(lab, [part.assign(calibration="") for part in parts(lab)])
    assert (found.estimate, found.outcome) == (plain.estimate, plain.outcome)
    assert "calibration_unusable" in {w.code for w in found.warnings}


def test_the_json_names_the_parts_of_the_measuring_error(lab):
    lines = [lab.calibration(name, u=0.05, material=f"of {name}") for name in NAMES]
    found = judged(lab, parts(lab, apart=True), *lines)
    told = found.to_json()
    assert sum(u**2 for u in told["measuring"].values()) == pytest.approx(
        told["gauge_uncertainty"] ** 2
    )


@pytest.mark.parametrize("apart", [False, True])
def test_a_shared_error_cancels_under_one_calibration_and_adds_under_two(lab, apart):
    """32 studies of the same blocks, every piece and every reading on it off by its error.

    The signs are the columns of a Hadamard matrix: any two errors are of one sign as often as not,
    so the spread over the studies is, to first order, exactly that of independent errors; drawn at
    random, 150 studies would leave it uncertain by 6 %. The spread of the estimates is what the
    verdict says of measuring: next to nothing under one calibration, both calibrations together
    under two.
    """
    blocks = parts(lab, apart=apart)
    cells = lab.cells(*blocks, step=1e-4)
    u, noise, names = 0.05, 0.02, NAMES[: 1 + apart]
    signs = hadamard(32)[:, 1:]
    estimates, said = [], []
    for study in signs:
        lines = []
        for name, sign in zip(names, (study[:12], study[12:24]), strict=False):
            line = lab.calibration(name, noise=0.0, u=u, material=f"of {name}")
            off = np.tile(u * sign[:4], 2)  # each piece is not what is stated for it
            lines.append(line.assign(indicated=line["indicated"] + off + noise * sign[4:]))
        given = {"calibrations": pd.concat(lines, ignore_index=True)}
        found = lab.verdict(cells, given=given, scope="block")
        estimates.append(found.estimate)
        said.append(found.gauge_uncertainty)
    spread = float(np.std(estimates))
    assert spread == pytest.approx(float(np.sqrt(np.mean(np.square(said)))), rel=0.02)
    truth = judged(lab, [part.assign(calibration="") for part in blocks], scope="block").estimate
    assert np.mean(estimates) == pytest.approx(truth, abs=0.02 * spread)
    assert (spread < 0.01) == (not apart)
