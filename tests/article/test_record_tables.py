"""What was read, in tables."""

from __future__ import annotations

from pathlib import Path

import lxml.html

from workbench.article.record_tables import (
    counts_table,
    fault_counts_table,
    faults_table,
    notices_table,
)
from workbench.study import open_study


def test_counts_are_those_of_the_files(small_study: Path) -> None:
    study = open_study(small_study)
    table = counts_table(study.records, study.settings)
    assert [row[:5] for row in table.rows] == [
        ("Deck thickness", "Works", "2", "3", "7"),
        ("Deck thickness", "Trophy <i>$x$</i>", "1", "1", "1"),
        ("Mass", "Works", "3", "–", "3"),
        ("Mass", "Trophy <i>$x$</i>", "2", "–", "2"),
    ]
    assert table.rows[0][5].startswith("3 of 8 places not read, in 1 of 2 blocks")
    assert table.rows[2][5] == "whole"
    assert "15 rows in: 13 accepted, 2 rejected" in table.note
    assert "1 reading on searched places and 1 reading with doubtful contact" in table.note


def test_faults_are_counted_by_kind_and_listed_with_their_places(small_study: Path) -> None:
    records = open_study(small_study).records
    kinds = fault_counts_table(records).rows
    assert sum(int(row[2]) for row in kinds) == records.fault_count == 2
    assert {row[:2] for row in kinds} == {
        ("unknown_unit", "The unit is not known."),
        ("not_a_number", "The value is not a number."),
    }
    table = faults_table(records)
    assert [(row[0], row[1], row[2]) for row in table.rows] == [
        ("readings.csv", "15", "unit"),
        ("readings.csv", "16", "value"),
    ]
    assert "2 faults in all" in table.note
    page = lxml.html.fromstring(f"<div>{table.html()}</div>")
    assert not page.xpath("//script | //b")
    assert "<script>alert(1)</script>" in page.text_content()


def test_a_shortened_list_says_so(small_study: Path) -> None:
    table = faults_table(open_study(small_study).records, shown=1)
    assert len(table.rows) == 1
    assert "The first 1 of 2 faults" in table.note


def test_faults_and_notices_of_calibrations_are_told(small_study: Path) -> None:
    (small_study / "calibrations.csv").write_text(
        "calibration,gauge,reference,indicated,unit\nC1,ug1,5,5.4,mm\nC2,ug1,5,5.4,mm\n"
        "C2,ug1,5,5.5,mm\nC3,ug1,5,0,mm\n"
    )
    study = open_study(small_study)
    counts = fault_counts_table(study.records, study.calibrations)
    kinds = {(row[0], row[3]): row[2] for row in counts.rows}
    assert kinds[("one_reference", "calibrations.csv")] == "1"
    assert kinds[("indicated_not_positive", "calibrations.csv")] == "1"
    told = study.records.fault_count + len(study.calibrations.faults)
    assert sum(int(row[2]) for row in counts.rows) == told
    first = faults_table(study.records, study.calibrations).rows[0]
    assert first[:3] == ("calibrations.csv", "3", "calibration")
    said = " ".join(row[1] for row in notices_table(study.notices).rows)
    assert "“C1”: made on one piece" in said


def test_no_notices_is_said(small_study: Path) -> None:
    table = notices_table(open_study(small_study).notices)
    assert table.rows or table.note == "None."
