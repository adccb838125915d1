"""The texts of numbers, against a table worked by hand."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

import pint
import pyarrow as pa
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from workbench.records.engine import Engine
from workbench.records.numbers import MICRO, evidence_sql, looks_sql, numbers_sql

Numbers = dict[str, tuple[str, int | None, int]]


@pytest.fixture(scope="module")
def engine(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Engine]:
    with Engine(tmp_path_factory.mktemp("engine"), passing=True) as opened:
        yield opened


def numbers_of(
    engine: Engine,
    texts: list[str],
    *,
    stated: str = "",
    semicolon: bool = False,
    exact: bool = False,
) -> Numbers:
    """Read the texts as those of one file: look, millionths and decimals of each."""
    count = len(texts)
    file = pa.array([0] * count, pa.int32())
    engine.table(
        "raw", {"file": file, "exact": pa.array([exact] * count), "value": pa.array(texts)}
    )
    engine.table(
        "files",
        {
            "file": pa.array([0], pa.int32()),
            "stated": pa.array([stated]),
            "semicolon": pa.array([semicolon]),
        },
    )
    engine.run(f"create or replace table looks as {looks_sql('raw')}")
    engine.run(f"create or replace table evidence as {evidence_sql('looks')}")
    rows = engine.rows(
        f"select value, look, micro, decimals from ({numbers_sql('looks', 'evidence', 'files')})"
    )
    return {value: (look, micro, decimals) for value, look, micro, decimals in rows}


@pytest.mark.parametrize(
    ("text", "value", "decimals"),
    [
        ("5", "5", 0),
        ("5.2", "5.2", 1),
        ("5.20", "5.2", 2),
        ("5.", "5", 0),
        (".5", "0.5", 1),
        ("05.2", "5.2", 1),
        ("+5.2", "5.2", 1),
        ("-5.2", "-5.2", 1),
        ("−5.2", "-5.2", 1),  # the minus sign of typesetting
        ("5,2", "5.2", 1),
        ("0,234", "0.234", 3),  # a group of thousands has no leading zero
        ("0.234", "0.234", 3),
        ("1234.567", "1234.567", 3),
        ("1234,567", "1234.567", 3),
        ("1.234,5", "1234.5", 1),
        ("1,234.5", "1234.5", 1),
        ("1.234.567", "1234567", 0),
        ("1,234,567", "1234567", 0),
        ("1.234.567,89", "1234567.89", 2),
        ("1 234", "1234", 0),
        ("1 234,5", "1234.5", 1),
        ("1\u00a0234,5", "1234.5", 1),  # no-break space
        ("1\u202f234,5", "1234.5", 1),  # narrow no-break space
        ("1\u2009234.5", "1234.5", 1),  # thin space
        ("1'234.5", "1234.5", 1),
        ("1’234.5", "1234.5", 1),
        ("1.2e1", "12", 0),
        ("1.25E-1", "0.125", 3),
        ("5e0", "5", 0),
        ("5.2345675", "5.234568", 7),  # kept to a millionth, halves away from zero
        ("-5.2345675", "-5.234568", 7),
    ],
)
def test_texts_that_are_read_as_they_look(
    engine: Engine, text: str, value: str, decimals: int
) -> None:
    for stated in ("", ".", ","):
        read = numbers_of(engine, [text], stated=stated)
        assert read == {text: ("number", int(Decimal(value) * MICRO), decimals)}


@pytest.mark.parametrize("text", ["<2.0", "< 2.0", "≤2.0", "<2,0"])
def test_a_value_that_is_only_not_above_its_number(engine: Engine, text: str) -> None:
    assert numbers_of(engine, [text]) == {text: ("number", 2 * MICRO, 1)}
    found = engine.rows(f"select below from ({numbers_sql('looks', 'evidence', 'files')})")
    assert found == [(True,)]


@pytest.mark.parametrize("text", [">2.0", "<", "<<2", "<2<", "<-"])
def test_signs_that_make_no_number(engine: Engine, text: str) -> None:
    assert numbers_of(engine, [text])[text][0] == "none"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "abc",
        "5 mm",
        "5.2.1",
        "1,23,456",
        "12 34",
        "1 23",
        "1_000",
        "--5",
        "5-",
        "(5)",
        "5%",
        "1e",
        "e5",
        "1.234'567",
        "1 234'567",
        "1,234.567.8",
        "0x1F",
        "½",
        "５",
        "٣",
        "1e1000",
        "5\n2",
        "=5",
    ],
)
def test_texts_that_are_no_numbers(engine: Engine, text: str) -> None:
    look, micro, _ = numbers_of(engine, [text])[text]
    assert look == "none"
    assert micro is None


@pytest.mark.parametrize("text", ["nan", "NaN", "inf", "-Infinity", "+INF"])
def test_texts_that_are_not_finite(engine: Engine, text: str) -> None:
    assert numbers_of(engine, [text])[text][:2] == ("infinite", None)


def test_what_is_too_large_to_hold_is_no_number(engine: Engine) -> None:
    assert numbers_of(engine, ["1e30"])["1e30"] == ("number", None, 0)
    assert numbers_of(engine, ["9" * 50])["9" * 50] == ("number", None, 0)


@pytest.mark.parametrize(
    ("text", "others", "stated", "semicolon", "value"),
    [
        # Nothing shows the mark: a point is one, a comma is one beside semicolons only.
        ("5.234", [], "", False, "5.234"),
        ("1,234", [], "", False, None),
        ("5.234", [], "", True, None),
        ("1,234", [], "", True, "1.234"),
        ("1,234", ["7", "12"], "", False, None),
        # The file shows it.
        ("5.234", ["5.2"], "", True, "5.234"),
        ("1,234", ["5,25"], "", False, "1.234"),
        ("1,234", ["5.2"], "", False, "1234"),
        ("1.234", ["5,25"], "", False, "1234"),
        ("1,234", ["1.234,5"], "", False, "1.234"),
        # One value that shows the comma does not turn two others into thousands.
        ("5.234", ["5.235", "5,25"], "", False, None),
        # Both marks are shown: the commoner is a decimal mark, the other is left open.
        ("5.234", ["5.2", "5.3", "5,1"], "", False, "5.234"),
        ("1,234", ["5.2", "5.3", "5,1"], "", False, None),
        ("5.234", ["5.2", "5,1"], "", False, None),
        # The study says it.
        ("1,234", ["5.2"], ",", False, "1.234"),
        ("1,234", ["5,25"], ".", False, "1234"),
        ("5.234", [], ".", True, "5.234"),
        ("5.234", [], ",", False, "5234"),
    ],
)
def test_what_could_be_either(
    engine: Engine, text: str, others: list[str], stated: str, semicolon: bool, value: str | None
) -> None:
    read = numbers_of(engine, [text, *others], stated=stated, semicolon=semicolon)[text]
    if value is None:
        assert read[:2] == ("ambiguous", None)
    else:
        assert read[:2] == ("number", int(Decimal(value) * MICRO))


def test_a_stored_number_needs_no_rule(engine: Engine) -> None:
    read = numbers_of(engine, ["5.234", "1e-05", "7"], exact=True, semicolon=True, stated=",")
    assert read == {
        "5.234": ("number", 5_234_000, 3),
        "1e-05": ("number", 10, 5),
        "7": ("number", 7_000_000, 0),
    }


def test_the_comma_trap_of_a_unit_library(engine: Engine) -> None:
    """A general-purpose unit library reads “5,2 mm” as 52 mm; the rule here does not."""
    assert pint.UnitRegistry().Quantity("5,2 mm").magnitude == 52
    assert numbers_of(engine, ["5,2"])["5,2"][1] == 5_200_000


@given(
    st.lists(
        st.decimals(min_value=0, max_value=9999, places=4, allow_nan=False), min_size=1, max_size=30
    ),
    st.sampled_from([(".", ","), (",", "."), (",", " "), (".", "'"), (",", "\u00a0")]),
)
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_what_is_written_in_any_custom_is_read_back(
    engine: Engine, values: list[Decimal], custom: tuple[str, str]
) -> None:
    mark, thousands = custom
    texts = [
        f"{value:,.4f}".translate(str.maketrans({",": thousands, ".": mark})) for value in values
    ]
    read = numbers_of(engine, texts)
    assert [read[text][1] for text in texts] == [int(value * MICRO) for value in values]
    assert {read[text][2] for text in texts} == {4}


@given(st.text(max_size=12))
@settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_text_at_all_is_answered(engine: Engine, text: str) -> None:
    text = text.replace("\x00", "")
    look, micro, decimals = numbers_of(engine, [text])[text]
    assert look in ("number", "none", "infinite", "ambiguous")
    assert (micro is None) or look == "number"
    assert decimals >= 0
