"""`[worth]` and the money keys of `[families.NAME]` in `study.toml`, each with its type."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from workbench.records.money import Amount, Currency
from workbench.records.setting_types import Line, Name, NotNegative, Positive, Table, Unit

Whole = Annotated[int, Field(strict=True, ge=1, le=10_000)]


ANY_DUTY = ""
MOST_OF_PRICE = 10.0  # a rejected block may fetch more than it cost, and not ever so much more


def _by_duty(stated: Any) -> Any:
    """Take one share for every duty, or a table of shares by duty."""
    if isinstance(stated, bool) or not isinstance(stated, int | float | dict):
        raise ValueError("must be a share from 0 to 1, or a table of shares by duty")
    table = stated if isinstance(stated, dict) else {ANY_DUTY: stated}
    for share in table.values():
        if isinstance(share, bool) or not isinstance(share, int | float) or not 0 <= share <= 1:
            raise ValueError(f"must be a share from 0 to 1, not {share}")
    return table


def _of_price(share: float) -> float:
    """Refuse a share that can only be a percentage."""
    if share > MOST_OF_PRICE:
        raise ValueError(f"must be a share of the price, as 0.6 for 60%, and not {share:g}")
    return share


ShareOfPrice = Annotated[NotNegative, AfterValidator(_of_price)]
Saves = Annotated[dict[str, float], BeforeValidator(_by_duty)]


class Rate(Table):
    """What one unit of another currency is worth in the currency of the answer."""

    rate: Positive
    quoted_on: date | None = None

    @model_validator(mode="before")
    @classmethod
    def _number_or_table(cls, stated: Any) -> Any:
        if isinstance(stated, bool) or not isinstance(stated, int | float | dict | Rate):
            raise ValueError("must be a number, or a table of rate and quoted_on")
        return {"rate": stated} if isinstance(stated, int | float) else stated


class Beyond(Table):
    """What is bought beyond the duty: only named, unless the user says what it is worth."""

    what: Line
    worth: Amount | None = None


class BlockMoney(Table):
    """What one block costs and brings beside its price; each key per block.

    `inspection_before_buying` is the fee where the seller lets a block be inspected before it is
    bought; left out, he does not. `machining` and `sleeving` put a block right that fails as it is,
    in the share of failures given as `..._saves`, one for every duty or a table by duty (in which a
    duty left out is not helped); sleeving is tried where machining would not do. `hours` are the
    buyer's own for each block looked at.
    """

    quoted_on: date | None = None
    shipping: Amount | None = None
    inspection: Amount | None = None
    inspection_before_buying: Amount | None = None
    resale: Amount | None = None
    resale_share: ShareOfPrice | None = None
    machining: Amount | None = None
    machining_saves: Saves | None = None
    sleeving: Amount | None = None
    sleeving_saves: Saves | None = None
    hours: NotNegative | None = None


class FamilyMoney(BlockMoney):
    """The money keys of a family: they go before those of `[worth]`.

    `further_block` is what it costs to have one more block at hand to measure, `blocks_exist` how
    many blocks of the family can be had for that, the measured ones included.
    """

    beyond: list[Beyond] = Field(default_factory=list)
    further_block: Amount | None = None
    blocks_exist: Whole | None = None


class Measuring(Table):
    """What measuring costs, in money and in hours, for each thing done.

    `block` is one more block at hand, `bore` each bore of it made ready, `place` each place found
    and read once, `repeat` each further reading there, `calibration_block` a piece to calibrate on,
    after which the standard uncertainty `calibration_leaves` is left in a difference of families.
    """

    block: Amount | None = None
    bore: Amount | None = None
    place: Amount | None = None
    repeat: Amount | None = None
    calibration_block: Amount | None = None
    block_hours: NotNegative = 0.0
    bore_hours: NotNegative = 0.0
    place_hours: NotNegative = 0.0
    repeat_hours: NotNegative = 0.0
    calibration_hours: NotNegative = 0.0
    calibration_leaves: NotNegative | None = None
    calibration_unit: Unit = "mm"


class WorthTable(BlockMoney):
    """`[worth]`: the currency of the answer, and what holds for every family.

    `rates` are what one unit of another currency is worth in `currency`. `ordinary` names the
    family the others are held against, the cheapest where it is left out. `usable_block` is what
    a usable block is worth to the buyer: where it is given, walking away can be weighed too.
    """

    currency: Currency | None = None
    rates: dict[Currency, Rate] = Field(default_factory=dict)
    range_shape: Literal["triangular", "pert"] = "triangular"
    duty: Name | None = None
    ordinary: Name | None = None
    hour_costs: Amount | None = None
    usable_block: Amount | None = None
    budget: Amount | None = None
    blocks_wanted: Whole = 1
    give_up_after: Whole | None = None
    measuring: Measuring = Measuring()


KEYS_AT: dict[tuple[str | None, ...], tuple[str, ...]] = {
    ("worth",): tuple(WorthTable.model_fields),
    ("worth", None): (*Amount.model_fields, *Measuring.model_fields),
    ("worth", None, None): tuple(Amount.model_fields),
    ("families", None): tuple(FamilyMoney.model_fields),
    ("families", None, None): tuple(Amount.model_fields),
    ("families", None, None, None): tuple(Beyond.model_fields),
}
