"""The money of a study checked whole: every amount with its key and currency, or every fault."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from pydantic import ValidationError

from workbench.records.columns import did_you_mean
from workbench.records.faults import Fault, FaultsError
from workbench.records.money import Amount
from workbench.records.setting_faults import faults_found, key_fault
from workbench.records.settings import Settings
from workbench.records.tomlfile import toml_key
from workbench.worth.money_tables import (
    ANY_DUTY,
    KEYS_AT,
    BlockMoney,
    FamilyMoney,
    Measuring,
    Rate,
    WorthTable,
)

REMEDIES = ("machining", "sleeving")


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedAmount:
    """An amount as written, with the currency and the date that hold for it."""

    amount: Amount
    currency: str
    quoted_on: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedMoney:
    """What a study says of money; `currency` is that of the answer, `amounts` go by their key."""

    worth: WorthTable
    families: Mapping[str, FamilyMoney]
    amounts: Mapping[str, StatedAmount]
    currency: str

    def remedy(self, family: str, name: str) -> tuple[str | None, Mapping[str, float] | None]:
        """Give the key of a remedy's cost and the share it saves, each the family's or general."""
        own, saves = self.families[family], f"{name}_saves"
        share = getattr(own, saves)
        return (
            self.key(family, name),
            getattr(self.worth, saves) if share is None else share,
        )

    def key(self, family: str, name: str) -> str | None:
        """Give the key an amount of a family is stated at, its own or else that of `[worth]`."""
        for place in (("families", family, name), ("worth", name)):
            if (key := toml_key(place)) in self.amounts:
                return key
        return None


def read_money(settings: Settings) -> StatedMoney:
    """Check `[worth]` and the money keys of all families.

    Raises
    ------
    FaultsError
        With every fault, each with its key.
    """
    worth, families = _tables(settings)
    stated = list(_amounts(settings, worth, families))
    currency, faults = _currency_of_answer(worth, stated)
    faults += [
        key_fault(key, "", "no_currency", "The amount has no currency; state “worth.currency”.")
        for key, _, own, _ in stated
        if own is None
    ]
    faults += _cross_faults(settings, worth, families)
    if faults:
        raise FaultsError(faults)
    return StatedMoney(
        worth=worth,
        families=families,
        amounts={
            key: StatedAmount(amount=amount, currency=own or currency, quoted_on=quoted_on)
            for key, amount, own, quoted_on in stated
        },
        currency=currency,
    )


def _tables(settings: Settings) -> tuple[WorthTable, dict[str, FamilyMoney]]:
    """Check the tables one by one."""
    worth, families, faults = WorthTable(), {}, []
    try:
        worth = WorthTable.model_validate(dict(settings.worth))
    except ValidationError as error:
        faults += faults_found(error, KEYS_AT, ("worth",))
    for name, family in settings.families.items():
        known = {}
        for key, value in (family.model_extra or {}).items():
            if key in FamilyMoney.model_fields:
                known[key] = value
            elif hint := did_you_mean(key, tuple(FamilyMoney.model_fields)):
                place, sentence = toml_key(("families", name, key)), f"There is no “{key}”{hint}."
                faults.append(key_fault(place, "", "unknown_key", sentence))
        try:
            families[name] = FamilyMoney.model_validate(known)
        except ValidationError as error:
            faults += faults_found(error, KEYS_AT, ("families", name))
    if faults:
        raise FaultsError(faults)
    return worth, families


Found = tuple[str, Amount, str | None, date | None]


def _amounts(
    settings: Settings, worth: WorthTable, families: Mapping[str, FamilyMoney]
) -> Iterator[Found]:
    """Give every amount with its key, currency and date; the nearest table that says so decides."""

    def found(key: str, amount: Amount, currency: str | None, quoted_on: date | None) -> Found:
        return (
            key,
            amount,
            amount.currency or currency or worth.currency,
            amount.quoted_on or quoted_on or worth.quoted_on,
        )

    for place, table in ((("worth",), worth), (("worth", "measuring"), worth.measuring)):
        for key, amount in _of_table(table, place):
            yield found(key, amount, None, None)
    for name, family in settings.families.items():
        own, quoted_on = families[name], families[name].quoted_on
        if family.price is not None:
            key = toml_key(("families", name, "price"))
            yield found(key, family.price, family.currency, quoted_on)
        for key, amount in _of_table(own, ("families", name)):
            yield found(key, amount, family.currency, quoted_on)
        for at, extra in enumerate(own.beyond):
            if extra.worth is not None:
                key = toml_key(("families", name, "beyond", at, "worth"))
                yield found(key, extra.worth, family.currency, quoted_on)


def _of_table(
    table: BlockMoney | Measuring, place: tuple[str, ...]
) -> Iterator[tuple[str, Amount]]:
    for name in type(table).model_fields:
        value = getattr(table, name)
        if isinstance(value, Amount):
            yield toml_key((*place, name)), value


def _currency_of_answer(worth: WorthTable, stated: list[Found]) -> tuple[str, list[Fault]]:
    met = sorted({currency for _, _, currency, _ in stated if currency is not None})
    if worth.currency is not None or len(met) == 1:
        return worth.currency or met[0], []
    if len(met) > 1:
        sentence = (
            f"Amounts are stated in {' and '.join(met)}; state the currency of the answer, and "
            "in “worth.rates” what one unit of each other is worth in it."
        )
        return "", [key_fault("worth.currency", "", "two_currencies", sentence)]
    return "", []


def _cross_faults(
    settings: Settings, worth: WorthTable, families: Mapping[str, FamilyMoney]
) -> list[Fault]:
    """Find what is wrong between keys."""
    faults = []
    tables: list[tuple[tuple[str, ...], BlockMoney]] = [(("worth",), worth)]
    tables += [(("families", name), own) for name, own in families.items()]
    for place, table in tables:
        if table.resale is not None and table.resale_share is not None:
            key = toml_key((*place, "resale_share"))
            sentence = "State the resale as an amount or as a share of the price, not both."
            faults.append(key_fault(key, table.resale_share, "two_resales", sentence))
        for remedy in REMEDIES:
            if (missing := _half_stated(remedy, table, worth)) is not None:
                other = remedy if missing != remedy else f"{remedy}_saves"
                sentence = f"“{missing}” is needed beside “{other}”."
                key = toml_key((*place, missing))
                faults.append(key_fault(key, "", "missing_key", sentence))
            faults += _unknown_duties(settings, (*place, f"{remedy}_saves"), table)
    if worth.ordinary is not None and worth.ordinary not in settings.families:
        hint = did_you_mean(worth.ordinary, tuple(settings.families))
        sentence = f"There is no family of this name in study.toml{hint}."
        faults.append(key_fault("worth.ordinary", worth.ordinary, "unknown_family", sentence))
    if worth.duty is not None and settings.fitness and worth.duty not in settings.fitness:
        hint = did_you_mean(worth.duty, tuple(settings.fitness))
        sentence = f"There is no duty of this name in [fitness]{hint}."
        faults.append(key_fault("worth.duty", worth.duty, "unknown_duty", sentence))
    if worth.currency in worth.rates:
        rate: Rate = worth.rates[worth.currency]
        key = toml_key(("worth", "rates", worth.currency))
        sentence = "The currency of the answer needs no rate."
        faults.append(key_fault(key, rate.rate, "bad_value", sentence))
    return faults


def _unknown_duties(
    settings: Settings, place: tuple[str, ...], table: BlockMoney
) -> Iterator[Fault]:
    """Find shares saved that are stated for a duty the study does not have."""
    for duty in getattr(table, place[-1]) or {}:
        if duty not in (ANY_DUTY, *settings.fitness):
            hint = did_you_mean(duty, tuple(settings.fitness))
            sentence = f"There is no duty “{duty}” in [fitness]{hint}."
            yield key_fault(toml_key((*place, duty)), "", "unknown_duty", sentence)


def _half_stated(remedy: str, table: BlockMoney, worth: WorthTable) -> str | None:
    """Give the key missing where a table states only one of a remedy's cost and share saved."""
    keys = (remedy, f"{remedy}_saves")
    if all(getattr(table, key) is None for key in keys):
        return None
    missing = [key for key in keys if getattr(table, key) is None and getattr(worth, key) is None]
    return missing[0] if missing else None
