"""Amounts as stated: a number or a range, and what is refused, with the key."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from workbench.records.faults import FaultsError
from workbench.records.money import Amount
from workbench.records.settings import load_settings


def price(folder: Path, stated: str) -> Amount:
    (folder / "study.toml").write_text(
        f'title = "x"\n[families.a]\nprice = {stated}\n', encoding="utf-8"
    )
    found = load_settings(folder).families["a"].price
    assert found is not None
    return found


def test_a_number_is_known(tmp_path: Path) -> None:
    found = price(tmp_path, "900")
    assert found == Amount(likely=900.0)
    assert found.ends == (900, 900)


def test_a_range_with_currency_and_date(tmp_path: Path) -> None:
    found = price(
        tmp_path,
        '{ low = 800, likely = 900.5, high = 1100, currency = "EUR", quoted_on = 2026-03-01 }',
    )
    assert found.ends == (800, 1100)
    assert (found.likely, found.currency, found.quoted_on) == (900.5, "EUR", date(2026, 3, 1))


@pytest.mark.parametrize(
    ("stated", "key", "sentence"),
    [
        ("-1", "families.a.price", "“price” must be 0 or more."),
        ("nan", "families.a.price", "“price” must be a finite number."),
        ("true", "families.a.price", "must be a number, or a table of low, likely and high"),
        ("'900'", "families.a.price", "must be a number, or a table of low, likely and high"),
        ("[1, 2, 3]", "families.a.price", "must be a number, or a table"),
        ("{ low = 1, high = 2 }", "families.a.price.likely", "is required"),
        ("{ low = 1, likely = 2 }", "families.a.price", "both ends of a range"),
        ("{ low = 3, likely = 2, high = 4 }", "families.a.price", "rise .* not 3, 2, 4"),
        ("{ low = 1, likely = 5, high = 4 }", "families.a.price", "rise .* not 1, 5, 4"),
        ("{ low = -1, likely = 5, high = 6 }", "families.a.price.low", "greater than or equal"),
        ("{ likely = 5, hihg = 6 }", "families.a.price.hihg", "did you mean “high”"),
        ("{ likely = 5, quoted_on = 'May' }", "families.a.price.quoted_on", "must be a date"),
    ],
)
def test_faults_name_their_key(tmp_path: Path, stated: str, key: str, sentence: str) -> None:
    with pytest.raises(FaultsError, match=sentence) as caught:
        price(tmp_path, stated)
    assert [fault.column for fault in caught.value.faults] == [key]
