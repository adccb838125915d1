from __future__ import annotations

import pytest

HEADER = "block,family,quantity,value,unit,gauge,calibration,measured_on\n"
LISTED = "[families.works]\n[gauges.ug1]\n"


def codes(records) -> dict[str, str]:  # type: ignore[no-untyped-def]
    return {notice.code: notice.sentence for notice in records.notices}


def test_nothing_to_say(read) -> None:  # type: ignore[no-untyped-def]
    records = read(HEADER + "B1,works,wall,5.2,mm,ug1,,2026-01-02\n", settings=LISTED)
    assert records.notices == ()


@pytest.mark.parametrize(
    ("text", "code", "said"),
    [
        ("B1;works;wall;5,25;mm;ug1;;\n", "decimal_mark", "“5,25” were read with a decimal comma"),
        (
            'B1,works,mass,"1,234",lb,ug1,,\nB1,works,mass,1233.5,lb,ug1,,\n',
            "decimal_mark",
            "“1,234” were read with a comma for thousands",
        ),
        ("B1,wroks,wall,5.2,mm,ug1,,\n", "family_not_listed", "(did you mean “works”?)"),
        ("B1,works,wall,5.2,mm,ug1,c1,\n", "calibration_not_listed", "calibrations.csv: “c1”"),
        (
            "B1,works,wall,5.2,mm,ug1,,\nB2,Works,wall,5.2,mm,ug1,,\n",
            "near_names",
            "both “Works” and “works”",
        ),
        (
            "B1,works,wall,5.2,mm,ug1,,\nB 1,works,wall,5.2,mm,ug1,,\n",
            "near_names",
            "both “B 1” and “B1”",
        ),
        ("B1,works,wall,5.2,mm,ug1,,03/04/2026\n", "date_not_read", "YYYY-MM-DD in 1 rows"),
        ("B1,works,wall,5.2,mm,ug1,,2026-02-30\n", "date_not_read", "YYYY-MM-DD in 1 rows"),
    ],
)
def test_each_notice(read, text: str, code: str, said: str) -> None:  # type: ignore[no-untyped-def]
    header = HEADER.replace(",", ";") if ";" in text else HEADER
    records = read(header + text, settings=LISTED)
    assert records.faults == ()
    assert said in codes(records)[code]
    assert records.notices[0].line().endswith(f"[{code}]")


def test_a_gauge_is_not_listed_where_the_study_lists_none(read) -> None:  # type: ignore[no-untyped-def]
    records = read(HEADER + "B1,works,wall,5.2,mm,ug9,,\n", settings="[families.works]\n")
    assert records.faults == ()
    assert codes(records)["gauge_not_listed"].endswith("study.toml: “ug9”.")


DRAWN = (
    LISTED
    + """
[drawing]
unit = "mm"
bores = 4
bore_diameter = 86.0
bore_spacing = 94.0
[drawing.depths]
top = 15
bottom = 115
"""
)


def test_a_depth_that_is_neither_drawn_nor_a_number_is_pointed_at(read) -> None:  # type: ignore[no-untyped-def]
    header = HEADER.strip() + ",depth\n"
    rows = "".join(f"B1,works,wall,5.{n},mm,ug1,,,{d}\n" for n, d in enumerate(("top", "40.5")))
    assert "depth_not_listed" not in codes(read(header + rows, settings=DRAWN))
    said = codes(read(header + rows + "B1,works,wall,5.2,mm,ug1,,,botom\n", settings=DRAWN))
    assert said["depth_not_listed"].endswith("of study.toml: “botom” (did you mean “bottom”?).")


def test_a_stated_mark_needs_no_notice(read) -> None:  # type: ignore[no-untyped-def]
    text = (HEADER + "B1,works,wall,5.2,mm,ug1,,\n").replace(",", ";").replace("5.2", "5,2")
    records = read(text, settings=LISTED + "[readings]\ndecimal = ','\n")
    assert records.notices == ()


def test_names_of_rejected_rows_are_not_spoken_of(read) -> None:  # type: ignore[no-untyped-def]
    records = read(HEADER + "B1,works,wall,x,mm,ug9,,\nB1,works,wall,5,mm,ug1,,\n", settings=LISTED)
    assert records.notices == ()
