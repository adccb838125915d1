"""A whole study of the measuring side: impressions, rebound, a correlation, parts, limits."""

from __future__ import annotations

from pathlib import Path

import pytest

from workbench.article.gauge_tables import agreements_table, gauge_study_table, no_study_table
from workbench.article.hardness_tables import impressions_table
from workbench.article.left_out_tables import struck_out_table
from workbench.article.limit_tables import limits_table
from workbench.article.measuring_tables import calibrations_table, contrasts_table
from workbench.castings.calibration_use import calibration_uses
from workbench.castings.gauge_agreement import recorded_agreements
from workbench.castings.gauge_studies import recorded_studies
from workbench.castings.impressions import impression_spreads
from workbench.castings.repeated_places import repeated_readings
from workbench.castings.struck_out import fates
from workbench.castings.study_budgets import study_budgets
from workbench.castings.walls_at_limits import walls_at_limits
from workbench.study import Study, open_study

SETTINGS = """
title = "Invented"
[gauges.ug1]
kind = "ultrasonic"
unit = "mm"
lower_limit = 2.0
[gauges.bt1]
kind = "brinell"
unit = "HB"
uncertainty = 2
[gauges.bt1.impression]
load = 29420
ball = 10
[gauges.lt1]
kind = "rebound"
unit = "HLD"
[gauges.lt1.needs]
note = "common practice, no source"
least_readings = 3
[gauges.sc1]
kind = "scale"
unit = "kg"
uncertainty = 0.05
[parts.cap]
mass = 0.5
uncertainty = 0.01
unit = "kg"
[correlations.iron]
gauge = "lt1"
shown = "HLD"
to = "HB"
note = "blocks of our own, cut up"
[fitness.road]
note = "common practice, no source"
unit = "mm"
least_wall = 4.0
"""
CLAIMS = "".join(
    f'[[claim]]\nid = "{name}"\nstatement = "s"\nquantity = "{quantity}"\ncandidate = "trophy"\n'
    f'reference = "works"\ndirection = "greater"\nunit = "{unit}"\nscope = "{scope}"\n'
    for name, quantity, unit, scope in (
        ("harder", "hardness", "HB", "family"),
        ("heavier", "mass", "kg", "block"),
        ("thicker", "wall_thickness", "mm", "block"),
    )
)
HEAD = "block,family,bore,station,quantity,value,unit,gauge,calibration,operator,contact,sampling"


def readings() -> str:
    lines = [HEAD]
    for number, block in enumerate(("T1", "T2", "W1", "W2", "W3")):
        family = "trophy" if block[0] == "T" else "works"
        add = 3 if family == "trophy" else 0
        shown = 500 + 4 * add + number
        lines += [f"{block},{family},,{s},hardness,{shown + i},HLD,lt1,,north,," for i, s in
                  enumerate(("front", "front", "rear", "rear"))]  # fmt: skip
        diameter = 4.2 - 0.02 * add + 0.01 * number
        lines.append(f"{block},{family},,front,hardness,{diameter:.2f},mm,bt1,,north,,")
        lines.append(f"{block},{family},,,mass,{41 + add / 3 + number / 10:.2f},kg,sc1,,,,")
        for station, value in (("front", 4.30), ("rear", 3.98 + 0.1 * number)):
            for operator in ("north", "south"):
                for repeat in (0.00, 0.03):
                    wall = value + repeat + (0.02 if operator == "south" else 0.0)
                    wall += number / 100
                    lines.append(
                        f"{block},{family},1,{station},wall_thickness,{wall:.2f},mm,ug1,C1,"
                        f"{operator},,"
                    )
    lines.append("W1,works,2,front,wall_thickness,<2.00,mm,ug1,C1,north,,")
    lines.append("W1,works,2,rear,wall_thickness,1.80,mm,ug1,C1,north,,")
    lines.append("W1,works,3,front,wall_thickness,6.10,mm,ug1,C1,north,doubtful,")
    lines.append("W1,works,3,rear,wall_thickness,3.10,mm,ug1,C1,north,,search")
    lines.append("W2,works,,rear,hardness,1.9,mm,bt1,,north,,")  # beyond 0.24 of the ball
    lines.append("W2,works,,rear,hardness,215,HB,lt1,,north,,")  # converted by the tester
    return "\n".join(lines) + "\n"


@pytest.fixture
def study(tmp_path: Path) -> Study:
    steps = "".join(
        f"C1,ug1,iron,{piece},{piece * 1.01 + 0.02 + add:.2f},mm,0.005\n"
        for piece in (2.0, 4.0, 6.0)
        for add in (0.0, 0.01)
    )
    head = "calibration,gauge,material,reference,indicated,unit,reference_uncertainty\n"
    pairs = "".join(
        f"iron,{180 + 1.5 * value + add},{value}\n"
        for value in (180, 195, 210, 225, 240)
        for add in (-3, 3)
    )
    for name, text in (
        ("study.toml", SETTINGS),
        ("claims.toml", CLAIMS),
        ("readings.csv", readings()),
        ("calibrations.csv", head + steps),
        ("correlations.csv", "correlation,shown,value\n" + pairs),
        ("blocks.csv", "block,family,missing_parts\nT1,trophy,2 x cap\nW1,works,sump\n"),
    ):
        (tmp_path / name).write_text(text, encoding="utf-8")
    return open_study(tmp_path)


def test_faults_have_their_row_and_the_rest_is_read(study: Study) -> None:
    assert [(fault.column, fault.code) for fault in study.faults] == [
        ("value", "impression_ratio"),
        ("unit", "converted_scale"),
    ]
    assert study.records.rows_in == study.records.accepted + 2


def test_the_notices_of_the_check(study: Study) -> None:
    said = {notice.code: notice.sentence for notice in study.notices}
    assert "2 readings by “ug1” say only" in said["censored_readings"]
    assert "“sump”" in said["part_not_stated"]
    assert "10 of 10 places have fewer than 3" in said["few_impressions"]
    assert "10 pairs from 180 to 240 HB" in said["correlation"]
    assert "correlation_range" not in said


def test_every_row_meets_one_fate(study: Study) -> None:
    found = fates(study.records, study.settings, study.calibrations)
    counts = {fate.name: fate.readings for fate in found}
    assert sum(counts.values()) == study.records.rows_in
    assert counts == {
        "rejected": 2,
        "doubtful contact": 1,
        "not above what was written": 2,
        "searched": 1,
        "on another hardness scale": 0,
        "in the means, corrected": 20 * 2 + 20,
        "in the means, as shown": 5 + 5,
    }
    table = struck_out_table(found, study.records.rows_in)
    assert sum(int(row[1]) for row in table.rows) == study.records.rows_in


def test_the_verdicts_say_what_they_rest_on(study: Study) -> None:
    harder, heavier, thicker = study.judge(seed=1).verdicts
    codes = {threat.code: threat.text for threat in harder.warnings}
    assert "20 of 25 readings were made in HLD" in codes["converted_readings"]
    assert "few_impressions" in codes
    assert heavier.estimate == pytest.approx(42.05 + 0.5 - 41.3)  # two caps on one of two
    assert dict(heavier.measuring)["part cap"] == pytest.approx(0.01)
    assert {"error_stated", "part_not_stated"} <= {threat.code for threat in heavier.warnings}
    assert "censored_readings" in {threat.code for threat in thicker.warnings}
    contrasts = contrasts_table(study.judge(seed=1))
    assert [row[0] for row in contrasts.rows] == ["harder", "heavier", "thicker"]
    assert "part cap: 0.010 kg" in contrasts.rows[1][4]


def test_budgets_and_limits(study: Study) -> None:
    found = study_budgets(study.records, study.settings, study.calibrations)
    assert [of[0].unit for of in found.budgets.values()] == ["mm", "HB", "kg"]
    assert found.refused == {}
    (road,) = walls_at_limits(study.records, study.settings, study.calibrations)
    assert len(road.blocks) == 5
    assert sum(road.count(of) for of in ("conforming", "not_conforming", "too_close")) == 5
    assert "common practice, no source" in limits_table([road], study.settings).rows[0]


def test_calibrations_and_their_use(study: Study) -> None:
    (use,) = calibration_uses(study.records, study.calibrations)
    assert (use.name, use.readings) == ("C1", 44)
    rows = calibrations_table(study.calibrations).rows
    assert [row[0] for row in rows] == ["C1", "iron"]
    assert rows[1][-1] == "blocks of our own, cut up"


def test_gauge_studies_agreements_and_impressions(study: Study) -> None:
    repeated = repeated_readings(study.records, study.settings, study.calibrations)
    by_name = {(of.quantity, of.factor): of for of in recorded_studies(repeated, study.settings)}
    walls = by_name["wall_thickness", "operator"]
    assert walls.study is not None
    assert walls.study.pooled  # 20 pairs 0.03 apart on 20 degrees of freedom, none in the other 9
    by_hand = (20 * 0.03**2 / 2 / 29) ** 0.5 / 1.01
    assert walls.study.sd("repeatability") == pytest.approx(by_hand, rel=0.02)
    table = gauge_study_table(walls, study.settings)
    assert [row[0] for row in table.rows] == [
        "repeatability",
        "reproducibility",
        "gauge",
        "places of blocks",
    ]
    assert "places crossed with operators" in table.note
    lacking = no_study_table([by_name["mass", "operator"]], study.settings)
    assert lacking.rows == (("Gauge study of mass", "no place was read more than once."),)
    pairs = recorded_agreements(repeated, study.settings)
    listed = agreements_table(pairs, study.settings)
    assert any(row[0] == "Wall thickness: north minus south" for row in listed.rows)
    spreads = impression_spreads(study.records.cells, study.settings)
    names = [row[0] for row in impressions_table(spreads, study.settings).rows]
    assert names == ["Hardness, bt1 (HB)", "Hardness, lt1 (HLD)"]
