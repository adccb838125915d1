"""Numbers entered once, printed by the one rule, and found again in texts that quote them."""

from __future__ import annotations

import pytest

from workbench.article.writing.number import Origin, tokens
from workbench.article.writing.phrase import numbers_in, plain, say
from workbench.article.writing.register import Register

HERE = Origin(claim="c")


def test_the_uncertainty_sets_the_digits_and_the_step_bounds_them() -> None:
    # JCGM 100, 7.2.6 (from memory): an uncertainty is given to at most two significant digits
    register = Register()
    fine = register.measured("a", 2.672294, HERE, unit="mm", uncertainty=0.125, finest=0.001)
    coarse = register.measured("b", 2.672294, HERE, unit="mm", uncertainty=0.0012, finest=0.01)
    assert (fine.printed, coarse.printed) == ("2.67 mm", "2.67 mm")
    assert (fine.rounding.decimals, fine.value) == (2, 2.672294)


def test_one_id_is_one_number() -> None:
    register = Register()
    register.count("n", 3, "blocks", HERE)
    register.count("n", 3, "blocks", HERE)
    with pytest.raises(ValueError, match="Two different numbers have the id n"):
        register.count("n", 4, "blocks", HERE)


def test_a_quoted_number_is_the_known_one_where_its_unit_or_noun_says_so() -> None:
    register = Register()
    blocks = register.count("blocks", 3, "blocks", HERE)
    bores = register.count("bores", 3, "bores", HERE)
    size = register.measured("size", 3.0, HERE, unit="mm", uncertainty=1.0, finest=1.0)
    phrase = register.quoted(
        "3 mm on 3 old blocks (3 bores), 3 others", "p", HERE, (blocks, bores, size)
    )
    assert [number.id for number in numbers_in(phrase)] == ["size", "blocks", "bores", "p: 3"]
    assert plain(phrase) == "3 mm on 3 old blocks (3 bores), 3 others"


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("ug1 and TR-07 and 12ab", ["12"]),
        ("-0.15 to 0.36 mm", ["-0.15", "0.36"]),
        ("12,000 of 3.5%, p<0.001", ["12,000", "3.5", "0.001"]),
        ("2mm", ["2"]),
        ("one block", []),
    ],
)
def test_tokens_are_numbers_and_not_parts_of_names(text: str, found: list[str]) -> None:
    assert tokens(text) == found


def test_a_template_takes_its_numbers_as_references_only() -> None:
    register = Register()
    number = register.stated("m", 2.0, HERE, unit="mm")
    assert plain(say("above {m}", m=number)) == "above 2 mm"
    with pytest.raises(ValueError, match="refers to nothing"):
        say("above {m}", m="2 mm")
    assert register.stated("big", 1e7, HERE).text == "10000000"
