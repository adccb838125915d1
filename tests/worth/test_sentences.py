"""Sentences about money: which way, how surely, where it turns, what to do."""

from __future__ import annotations

import pytest

from workbench.worth.compare import compare
from workbench.worth.draws import draw_all
from workbench.worth.fit_share import COUNTED
from workbench.worth.information import value_of_looking
from workbench.worth.sentences import comparison_sentence, looking_sentence, share_sentence

FIXED = """
worth = { currency = "GBP", shipping = 60, inspection = 120, resale_share = 0.6 }
families.works = { price = 900, label = "Works" }
families.trophy = { price = 4200, label = "Trophy" }
"""


@pytest.fixture
def compared(prices_of, judged):
    def said(text: str, **counts: tuple[int, int]) -> str:
        prices = prices_of(text)
        draws = draw_all(list(prices.families.values()), judged(**counts), basis=COUNTED, seed=1)
        found = compare(prices.of("trophy"), prices.of("works"), draws)
        return comparison_sentence(found, "GBP", 0.95)

    return said


def test_which_way_and_where_it_turns(compared) -> None:
    """By hand 1.08 x 4200 + 216 against 4860: 108 less, and even at 4300."""
    said = compared(FIXED, works=(2, 12), trophy=(3, 3))
    assert "costs 110 GBP less than a usable Works block" in said
    assert "up to a price of 4300.00 GBP, the dearer one above it" in said
    assert "standard error" in said


def test_cheaper(compared) -> None:
    said = compared(FIXED.replace("4200", "1000"), works=(2, 12), trophy=(3, 3))
    assert " GBP less than a usable Works block" in said
    assert "more than 99 in a hundred" in said


def test_dearer_even_if_all_were_fit_or_as_a_gift(compared) -> None:
    said = compared(FIXED, works=(12, 12), trophy=(1, 12))
    assert "the dearer one even if every block were fit" in said
    dear_looks = FIXED.replace('label = "Trophy"', 'label = "Trophy", inspection = 9000')
    assert "Even as a gift" in compared(dear_looks, works=(12, 12), trophy=(3, 3))


def test_no_mean(compared) -> None:
    said = compared(FIXED, works=(0, 3), trophy=(3, 3))
    assert "in the middle of what is possible" in said
    assert "the odds would be even" in said
    assert "of a hundred Trophy blocks are fit" not in said


def test_extras(compared) -> None:
    listed = FIXED.replace('label = "Trophy"', 'label = "Trophy", beyond = [{ what = "rarity" }]')
    assert "“rarity”; nothing of it is priced here" in compared(
        listed, works=(2, 12), trophy=(3, 3)
    )
    valued = listed.replace('what = "rarity"', 'what = "rarity", worth = 500')
    assert "the difference is 608.00 GBP less" in compared(valued, works=(2, 12), trophy=(3, 3))


@pytest.mark.parametrize(
    ("counts", "said"), [((0, 3), "None of 3 Works blocks inspected was fit"), ((2, 3), "2 of 3")]
)
def test_share(judged, counts, said) -> None:
    assert share_sentence(judged(works=counts)["works"], "Works", "street").startswith(said)


def looked(prices_of, judged, text: str, worth: float | None, **counts: tuple[int, int]) -> str:
    prices = prices_of(text)
    families = [prices.families[name] for name in counts]
    draws = draw_all(families, judged(**counts), basis=COUNTED, seed=1)
    return looking_sentence(
        value_of_looking(families, draws, usable_block=worth, limit=3, most=4), "GBP"
    )


def test_what_to_do(prices_of, judged) -> None:
    assert "buy now (Works: buy, then inspect); no further" in looked(
        prices_of, judged, FIXED, 3000.0, works=(30, 30)
    )
    assert "walk away; no further inspection is worth its fee" in looked(
        prices_of, judged, FIXED, 100.0, works=(30, 30)
    )
    cheap = FIXED.replace("inspection = 120", "inspection = 1")
    said = looked(prices_of, judged, cheap, 1900.0, works=(1, 3))
    assert "more of Works before choosing" in said
    without = FIXED.replace(", inspection = 120", "")
    said = looked(prices_of, judged, without, 3000.0, works=(30, 30))
    assert "No inspection fee is stated for “Works”" in said
