from __future__ import annotations

import hashlib
import random
import sqlite3
import tempfile
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal, StudyError
from workbench.records.engine import Engine
from workbench.records.reduction import (
    CELL_KEY,
    cells_sql,
    decimals_kept,
    moments,
    squares_about_mean,
    stepped_sql,
    steps_sql,
    values_sql,
)

HEADER = "block,family,quantity,value,unit,bore\n"


def cells_of(values: list[int], unit: str = "mm", step: float = 0.01) -> pd.DataFrame:
    """Make one cell of whole steps, in Python's own integers."""
    return pd.DataFrame(
        {name: [""] for name in CELL_KEY}
        | {
            "quantity": ["length"],
            "unit": [unit],
            "step": [step],
            "n": [len(values)],
            "s1": [sum(values)],
            "s2": [sum(value * value for value in values)],
            "kmin": [min(values)],
            "kmax": [max(values)],
        }
    )


@given(st.lists(st.integers(-(10**7), 10**7), min_size=1, max_size=200))
@settings(max_examples=100)
def test_moments_against_exact_fractions(values: list[int]) -> None:
    answer = moments(cells_of(values), "mm").iloc[0]
    exact = [Fraction(value, 100) for value in values]
    mean = sum(exact) / len(exact)
    squares = sum((value - mean) ** 2 for value in exact)
    assert answer["n"] == len(values)
    assert answer["mean"] == float(mean)
    assert answer["ss"] == pytest.approx(float(squares), rel=1e-15)
    assert (answer["low"], answer["high"]) == (float(min(exact)), float(max(exact)))
    assert answer["step"] == 0.01


@pytest.mark.parametrize("shift", [0, 10**6, -(10**6), 9_999_000])
def test_the_spread_of_far_values_is_not_lost(shift: int) -> None:
    """Float sums of squares lose it: 1e14 carries no digit below 1e-2."""
    values = [shift, shift + 1, shift + 2] * 30_000
    answer = moments(cells_of(values), "mm").iloc[0]
    assert answer["ss"] == pytest.approx(60_000 * 0.01**2, rel=1e-15)


def test_sums_at_the_end_of_64_bits() -> None:
    n, k = 92_233, 10**7  # n k k = 9.2233e18, just below 2**63
    cells = cells_of([k])
    cells.loc[0, ["n", "s1", "s2"]] = [n, n * k - n // 2, n * k * k - n * k + n // 2]
    answer = moments(cells, "mm").iloc[0]
    s1, s2 = int(cells["s1"][0]), int(cells["s2"][0])
    assert answer["mean"] == float(Fraction(s1, n) / 100)
    assert answer["ss"] == pytest.approx(float(squares_about_mean(n, s1, s2) / 10**4), rel=1e-15)


@given(st.lists(st.integers(1, 10**6), min_size=2, max_size=50))
@settings(max_examples=50)
def test_a_change_of_unit_changes_the_unit_only(values: list[int]) -> None:
    inches, millimetres = (
        moments(cells_of(values, "in", 0.001), unit).iloc[0] for unit in ("in", "mm")
    )
    assert millimetres["mean"] == pytest.approx(inches["mean"] * 25.4, rel=4e-16)
    assert millimetres["ss"] == pytest.approx(inches["ss"] * 25.4**2, rel=1e-15)
    assert millimetres["unit"] == "mm"
    assert millimetres["step"] == 0.0254


def test_moments_of_no_cell_and_of_many() -> None:
    none = moments(cells_of([1]).iloc[:0], "mm")
    assert len(none) == 0
    both = pd.concat([cells_of([254, 508]), cells_of([1, 2, 3], "in", 1.0)], ignore_index=True)
    answer = moments(both, "in")
    assert answer["mean"].tolist() == [0.15, 2]
    assert answer["n"].tolist() == [2, 3]
    before = both.copy()
    moments(both, "mm")
    pd.testing.assert_frame_equal(both, before)


def test_units_that_do_not_fit_are_refused() -> None:
    with pytest.raises(Refusal, match="“mm” cannot be turned into “kg”") as refusal:
        moments(cells_of([1]), "kg")
    assert refusal.value.code == "unit_mismatch"
    with pytest.raises(Refusal, match="no common factor"):
        moments(cells_of([1], "HLD"), "HB")


@pytest.mark.parametrize(
    ("written", "largest", "kept"),
    [
        (0, 5_000_000, 0),
        (2, 5_230_000, 2),
        (6, 5_230_000, 6),
        (9, 5_230_000, 6),
        (6, 10_000_000, 6),
        (6, 10_000_001, 5),
        (3, 9_999_999_999, 3),
        (6, 10**13, 0),
    ],
)
def test_the_decimals_of_a_step(written: int, largest: int, kept: int) -> None:
    assert decimals_kept(written, largest) == kept


def test_cells_against_python_integers(read) -> None:  # type: ignore[no-untyped-def]
    """Every sum, over random readings, recomputed in Python's own integers."""
    draw = random.Random(1)
    rows = [
        (f"B{draw.randrange(6)}", str(draw.randrange(3)), Decimal(draw.randrange(1, 10**6)) / 1000)
        for _ in range(4000)
    ]
    text = HEADER + "".join(
        f"{block},works,wall,{value},mm,{bore}\n" for block, bore, value in rows
    )
    records = read(text)
    assert records.accepted == len(rows)
    assert set(records.cells["step"]) == {0.001}
    for (block, bore), cell in records.cells.set_index(["block", "bore"]).iterrows():
        steps = [int(value * 1000) for at, place, value in rows if (at, place) == (block, bore)]
        assert [cell[name] for name in ("n", "s1", "s2", "kmin", "kmax")] == [
            len(steps),
            sum(steps),
            sum(step * step for step in steps),
            min(steps),
            max(steps),
        ]


def test_cells_do_not_depend_on_order_or_threads(read) -> None:  # type: ignore[no-untyped-def]
    draw = random.Random(2)
    lines = [
        f"B{draw.randrange(40)},works,wall,{draw.randrange(400, 600) / 100},mm,{bore % 6}\n"
        for bore in range(20_000)
    ]
    digests = set()
    for threads in (1, 2, 4):
        draw.shuffle(lines)
        records = read(HEADER + "".join(lines), threads=threads)
        content = records.cells.to_csv(index=False)
        content += records.values("wall_thickness", ["block"]).to_csv(index=False)
        digests.add(hashlib.sha256(content.encode()).hexdigest())
    assert len(digests) == 1


def test_inches_and_millimetres_are_kept_apart_and_agree(read) -> None:  # type: ignore[no-untyped-def]
    records = read(
        HEADER
        + "B1,works,wall,5.08,mm,1\nB1,works,wall,10.16,mm,1\n"
        + "B2,works,wall,0.2,in,1\nB2,works,wall,0.4,in,1\n"
    )
    assert records.cells[["unit", "step"]].to_numpy().tolist() == [["mm", 0.01], ["in", 0.1]]
    answer = moments(records.cells, "mm")
    assert answer["mean"][0] == answer["mean"][1] == 7.62
    assert answer["ss"][0] == pytest.approx(answer["ss"][1], rel=1e-15)


def test_readings_finer_than_the_step_are_rounded_with_a_notice(read) -> None:  # type: ignore[no-untyped-def]
    records = read(
        HEADER + "B1,works,wall,5.23456789,mm,1\nB1,works,wall,5.2345675,mm,2\n"
        "B1,works,wall,105.2,mm,3\n"
    )
    (notice,) = [notice for notice in records.notices if notice.code == "rounded"]
    assert "up to 8 decimals and was rounded to 4" in notice.sentence
    assert records.cells["kmin"].tolist() == [52346, 52346, 1_052_000]


def test_rounding_halves_goes_away_from_zero(read) -> None:  # type: ignore[no-untyped-def]
    """With 9999.5 in the file the step is 0.001, and 0.0005 of it a half."""
    records = read(
        HEADER.replace("bore", "station")
        + "B1,works,shift,0.0005,mm,a\nB1,works,shift,-0.0005,mm,b\n"
        + "B1,works,shift,0.0015,mm,c\nB1,works,shift,-0.00149,mm,d\nB1,works,shift,9999.5,mm,e\n",
        settings="[quantities.shift]\nunit = 'mm'\nsigned = true\n",
    )
    assert records.cells["kmin"].tolist() == [1, -1, 2, -1, 9_999_500]


def test_a_sum_too_large_for_64_bits_is_refused(read, folder: Path) -> None:  # type: ignore[no-untyped-def]
    """93 000 readings of nearly ten million steps in one cell: the squares pass 2**63."""
    lines = np.char.add("B1,works,wall,9999.", np.char.mod("%03d", np.arange(93_000) % 1000))
    text = HEADER + "".join(f"{line},mm,1\n" for line in lines)
    with pytest.raises(StudyError, match="does not fit 64 bits"):
        read(text)


@given(st.lists(st.integers(-(10**7), 10**7), min_size=1, max_size=60), st.integers(0, 6))
@settings(max_examples=40)
def test_a_reading_finer_than_the_step_is_rounded_half_away_from_zero(
    halves: list[int], coarser: int
) -> None:
    """Against decimal arithmetic, with every exact half among the readings."""
    size = 10**coarser
    micro = [at * size // 2 + off for at in halves for off in (-1, 0, 1)]
    with tempfile.TemporaryDirectory() as folder, Engine(Path(folder), passing=True) as engine:
        columns = {name: pa.array([""] * len(micro)) for name in CELL_KEY}
        engine.table("accepted", columns | {"micro": pa.array(micro, pa.int64())})
        one = {name: pa.array([""]) for name in ("quantity", "unit")}
        engine.table("steps", one | {"decimals": pa.array([0]), "size": pa.array([size])})
        found = engine.rows(f"select a.micro, a.k from ({stepped_text()}) a")
    exact = [
        (one, int((Decimal(one) / size).quantize(Decimal(1), ROUND_HALF_UP)))
        for one in sorted(micro)
    ]
    assert sorted(found) == exact


def stepped_text() -> str:
    """Give the statement under test with the size of the reading beside the steps."""
    return stepped_sql("accepted", "steps").replace(" as k", " as k, a.micro as micro")


def test_the_same_statements_give_the_same_cells_on_another_engine(tmp_path: Path) -> None:
    """SQLite, of another make, answers the very texts that run here by default."""
    draw = random.Random(3)
    accepted = pd.DataFrame(
        {name: [draw.choice("abc") for _ in range(3000)] for name in CELL_KEY[:3]}
        | dict.fromkeys(CELL_KEY[3:], "")
        | {
            "micro": [draw.randrange(-(10**7), 10**7) for _ in range(3000)],
            "decimals": [draw.randrange(7) for _ in range(3000)],
        }
    )
    steps = pd.DataFrame({"quantity": [""], "unit": [""], "decimals": [2], "size": [10_000]})
    texts = [
        steps_sql("accepted"),
        cells_sql(f"({stepped_sql('accepted', 'steps')})"),
        values_sql(f"({stepped_sql('accepted', 'steps')})"),
    ]
    with sqlite3.connect(":memory:") as other, Engine(tmp_path, passing=True) as engine:
        for name, frame in (("accepted", accepted), ("steps", steps)):
            frame.to_sql(name, other, index=False)
            columns = {column: pa.array(frame[column].tolist()) for column in frame}
            engine.table(name, columns)
        for text in texts:
            assert sorted(engine.rows(text)) == sorted(other.execute(text).fetchall())
    other.close()
