"""An invented study's prices, written as a user would."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from workbench.records.settings import load_settings
from workbench.worth.fit_share import FitShare
from workbench.worth.prices import Prices, load_prices

# Invented, as are the families.
STUDY = """
[worth]
currency = "GBP"
quoted_on = 2026-03-01
duty = "high_power"
shipping = 60
inspection = 120
resale_share = 0.6
give_up_after = 3

[families.works]
label = "Works"
price = 900

[families.trophy]
label = "Trophy"
price = { low = 3800, likely = 4200, high = 5000 }
"""


@pytest.fixture
def prices_of(tmp_path: Path) -> Callable[..., Prices]:
    """Load the prices of a study given as the text of its settings."""

    def load(text: str = STUDY, families: tuple[str, ...] = ()) -> Prices:
        (tmp_path / "study.toml").write_text(f'title = "x"\n{text}', encoding="utf-8")
        return load_prices(load_settings(tmp_path), families)

    return load


@pytest.fixture
def judged() -> Callable[..., dict[str, FitShare]]:
    """Give fit shares by family from (passed, inspected)."""

    def shares(**counts: tuple[int, int]) -> dict[str, FitShare]:
        return {
            family: FitShare(family=family, duty="high_power", passed=passed, inspected=inspected)
            for family, (passed, inspected) in counts.items()
        }

    return shares
