"""The prices of a study in one currency: what is stated, what is missing, what looks odd.

A missing price, or an amount in another currency without a rate, is a refusal for that family
alone; the others are answered. An amount that is negative, out of order or without any currency is
a fault of `study.toml`, as is a second currency where that of the answer is not stated.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from workbench.errors import Refusal
from workbench.inference.decision.three_point import ThreePoint
from workbench.records.notice import Notice, quoted
from workbench.records.setting_faults import SETTINGS_FILE
from workbench.records.settings import Settings
from workbench.records.tomlfile import toml_key
from workbench.worth.family_prices import Extra, FamilyPrices, Money, Remedy
from workbench.worth.money_tables import Measuring
from workbench.worth.stated_money import REMEDIES, StatedMoney, read_money

MEASURED = ("block", "bore", "place", "repeat", "calibration_block")


@dataclass(frozen=True, slots=True, kw_only=True)
class Prices:
    """What the study says of money, in `currency`.

    `refused` holds the families that cannot be answered, with the reason; `labels` has all.
    `ordinary` is the family the others are held against, None where no family has a price.
    `dates` are the oldest and the newest of all that is dated. `measuring` and
    `measuring_hours` go by what is done: a block, a bore, a place, a repeat, a calibration
    block; `calibration_leaves` is what a calibration leaves of measuring error, with its unit.
    `further_block` and `blocks_exist` go by family: what one more block at hand costs, and how
    many there are in all.
    """

    currency: str
    families: Mapping[str, FamilyPrices]
    refused: Mapping[str, Refusal]
    ordinary: str | None
    labels: Mapping[str, str] = field(default_factory=dict)
    duty: str | None = None
    give_up_after: int | None = None
    blocks_wanted: int = 1
    usable_block: Money | None = None
    budget: Money | None = None
    measuring: Mapping[str, Money] = field(default_factory=dict)
    measuring_hours: Mapping[str, float] = field(default_factory=dict)
    calibration_leaves: tuple[float, str] | None = None
    hour_costs: Money | None = None
    further_block: Mapping[str, Money] = field(default_factory=dict)
    blocks_exist: Mapping[str, int] = field(default_factory=dict)
    range_shape: str = "triangular"
    dates: tuple[date, date] | None = None
    notices: tuple[Notice, ...] = ()

    def of(self, family: str) -> FamilyPrices:
        """Give the prices of a family, or refuse it (`missing_price`, `no_rate`)."""
        if family in self.families:
            return self.families[family]
        raise self.refused.get(family) or _missing_price(family, family)

    def for_duty(self, duty: str) -> Prices:
        """Give the same prices with the remedies that help a block fit for a duty."""
        families = {name: own.for_duty(duty) for name, own in self.families.items()}
        return replace(self, families=families)


def load_prices(settings: Settings, families: Sequence[str] = ()) -> Prices:
    """Read and check the money of a study.

    Parameters
    ----------
    settings : Settings
        The study's settings.
    families : sequence of str
        Families met in the records, which need no table in the settings but do need a price.

    Raises
    ------
    FaultsError
        With every fault of `[worth]` and of the money keys of the families.
    Refusal
        `no_rate` where an amount of `[worth]` itself is in another currency without a rate.
    """
    stated = read_money(settings)
    priced: dict[str, FamilyPrices] = {}
    refused: dict[str, Refusal] = {}
    for family in dict.fromkeys((*settings.families, *families)):
        try:
            priced[family] = _family(stated, family, settings.family_label(family))
        except Refusal as refusal:
            refused[family] = refusal
    worth = stated.worth
    rates = [rate.quoted_on for rate in worth.rates.values()]
    dates = sorted(
        day for day in (*(a.quoted_on for a in stated.amounts.values()), *rates) if day is not None
    )
    return Prices(
        currency=stated.currency,
        families=priced,
        refused=refused,
        labels=settings.family_labels(families),
        ordinary=worth.ordinary
        or min(priced, key=lambda name: priced[name].price.range.mean, default=None),
        duty=worth.duty,
        give_up_after=worth.give_up_after,
        blocks_wanted=worth.blocks_wanted,
        usable_block=_money(stated, "worth.usable_block"),
        budget=_money(stated, "worth.budget"),
        measuring={
            name: money
            for name in MEASURED
            if (money := _money(stated, f"worth.measuring.{name}")) is not None
        },
        measuring_hours=_hours(worth.measuring),
        calibration_leaves=None
        if worth.measuring.calibration_leaves is None
        else (worth.measuring.calibration_leaves, worth.measuring.calibration_unit),
        hour_costs=_money(stated, "worth.hour_costs"),
        further_block=dict(_further_blocks(stated)),
        blocks_exist={
            name: own.blocks_exist
            for name, own in stated.families.items()
            if own.blocks_exist is not None
        },
        range_shape=worth.range_shape,
        dates=(dates[0], dates[-1]) if dates else None,
        notices=tuple(_notices(stated, priced)),
    )


def _further_blocks(stated: StatedMoney) -> Iterator[tuple[str, Money]]:
    """Give what one more block at hand costs; one without a rate is said in the notices."""
    for name in stated.families:
        try:
            money = _money(stated, toml_key(("families", name, "further_block")))
        except Refusal:
            continue
        if money is not None:
            yield name, money


def _missing_price(family: str, label: str) -> Refusal:
    key = toml_key(("families", family, "price"))
    return Refusal("missing_price", f"No price of {label} blocks is stated ({key}).")


def _family(stated: StatedMoney, family: str, label: str) -> FamilyPrices:
    """Gather the money of one family, its own keys before those of `[worth]`."""
    price = _money(stated, toml_key(("families", family, "price")))
    if price is None:
        raise _missing_price(family, label)
    own, worth = stated.families[family], stated.worth

    def amount(name: str) -> Money | None:
        return _money(stated, stated.key(family, name))

    general = own.resale is None and own.resale_share is None
    resale, share = (
        (amount("resale"), worth.resale_share)
        if general
        else (amount("resale") if own.resale else None, own.resale_share)
    )
    return FamilyPrices(
        family=family,
        label=label,
        price=price,
        shipping=amount("shipping"),
        inspection=amount("inspection"),
        inspection_before_buying=amount("inspection_before_buying"),
        resale=resale,
        resale_share=share or 0.0,
        remedies=tuple(_remedies(stated, family)),
        hours=(worth.hours if own.hours is None else own.hours) or 0.0,
        hour_costs=_money(stated, "worth.hour_costs"),
        beyond=tuple(
            Extra(
                what=extra.what,
                worth=_money(stated, toml_key(("families", family, "beyond", at, "worth"))),
            )
            for at, extra in enumerate(own.beyond)
        ),
    )


def _remedies(stated: StatedMoney, family: str) -> Iterator[Remedy]:
    for name in REMEDIES:
        key, saves = stated.remedy(family, name)
        cost = _money(stated, key)
        if cost is not None and saves and any(saves.values()):
            yield Remedy(name=name, cost=cost, by_duty=saves)


def _money(stated: StatedMoney, key: str | None) -> Money | None:
    """Give the amount of a key in the currency of the answer, None where none is stated."""
    if key is None or key not in stated.amounts:
        return None
    found = stated.amounts[key]
    low, high = found.amount.ends
    known = ThreePoint(
        low=low, likely=found.amount.likely, high=high, shape=stated.worth.range_shape
    )
    if found.currency != stated.currency:
        rate = stated.worth.rates.get(found.currency)
        if rate is None:
            raise Refusal(
                "no_rate",
                f"{key} is in {found.currency} and the answer in {stated.currency}, and there is "
                f"no rate between them (worth.rates.{found.currency}).",
            )
        known = known.times(rate.rate)
    return Money(key=key, range=known, quoted_on=found.quoted_on)


def _hours(table: Measuring) -> dict[str, float]:
    hours = (table.block_hours, table.bore_hours, table.place_hours, table.repeat_hours)
    return dict(zip(MEASURED, (*hours, table.calibration_hours), strict=True))


def _notices(stated: StatedMoney, priced: Mapping[str, FamilyPrices]) -> Iterator[Notice]:
    """Say what is odd, and what was counted as nothing for want of a statement."""

    def notice(code: str, sentence: str) -> Notice:
        return Notice(file=SETTINGS_FILE, code=code, sentence=sentence)

    for prices in priced.values():
        price = prices.price.range.mean
        resale = prices.resale.range.mean if prices.resale else prices.resale_share * price
        if resale > price:
            yield notice(
                "resale_above_price",
                f"A rejected {prices.label} block is said to fetch more than it cost; every reject "
                "would then earn money.",
            )
        missing = [
            name
            for name, amount in (
                ("shipping", prices.shipping),
                ("inspection", prices.inspection),
                ("resale", prices.resale or prices.resale_share or None),
            )
            if amount is None
        ]
        if missing:
            yield notice(
                "counted_as_nothing",
                f"No {' and no '.join(missing)} of {prices.label} blocks is stated: counted as "
                "nothing.",
            )
        if prices.hours and prices.hour_costs is None:
            yield notice(
                "hours_not_priced",
                f"The hours of {prices.label} blocks are counted but cost nothing: no "
                "“worth.hour_costs” is stated.",
            )
    for name in stated.families:
        key = toml_key(("families", name, "further_block"))
        found = stated.amounts.get(key)
        if found is not None and found.currency not in (stated.currency, *stated.worth.rates):
            yield notice(
                "no_rate",
                f"{key} is in {found.currency}, of which no rate is stated: not counted.",
            )
    undated = [key for key, amount in stated.amounts.items() if amount.quoted_on is None]
    if undated:
        yield notice("undated_prices", f"No date is given for {quoted(undated)}.")
