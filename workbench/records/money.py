"""An amount of money as a study states it: one number, or a range, its currency and its date."""

from __future__ import annotations

import math
from datetime import date
from typing import Annotated, Any

from pydantic import Field, model_validator

from workbench.records.setting_types import Line, NotNegative, Table

Currency = Annotated[Line, Field(max_length=10)]


class Amount(Table):
    """What something costs: `likely`, and where it is not known exactly from `low` to `high`.

    Written as a number, or as a table `{ low = 800, likely = 900, high = 1100 }` in which
    `currency` and `quoted_on` may be given too. An amount is never negative.
    """

    likely: NotNegative
    low: NotNegative | None = None
    high: NotNegative | None = None
    currency: Currency | None = None
    quoted_on: date | None = None

    @model_validator(mode="before")
    @classmethod
    def _number_or_table(cls, stated: Any) -> Any:
        if isinstance(stated, bool) or not isinstance(stated, int | float | dict | Amount):
            raise ValueError("must be a number, or a table of low, likely and high")
        if not isinstance(stated, int | float):
            return stated
        if not math.isfinite(stated):
            raise ValueError("must be a finite number")
        if stated < 0:
            raise ValueError("must be 0 or more")
        return {"likely": stated}

    @model_validator(mode="after")
    def _in_order(self) -> Amount:
        if (self.low is None) != (self.high is None):
            raise ValueError("must state both ends of a range, low and high, or neither")
        if self.low is not None and not self.low <= self.likely <= self.ends[1]:
            raise ValueError(
                f"must rise from low to likely to high, not {self.low:g}, {self.likely:g}, "
                f"{self.ends[1]:g}"
            )
        return self

    @property
    def ends(self) -> tuple[float, float]:
        """The least and the greatest the amount can be."""
        return (
            self.likely if self.low is None else self.low,
            self.likely if self.high is None else self.high,
        )
