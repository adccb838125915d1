"""Readings where the study says nothing was kept: the reading or the statement is wrong."""
# ruff: noqa: S608 -- statements are put together from our own names, never from a user's text

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from fractions import Fraction

import pyarrow as pa

from workbench.records.columns import BELOW, did_you_mean
from workbench.records.engine import Engine
from workbench.records.notice import Notice
from workbench.records.numbers import MICRO
from workbench.records.reduction import DECIMALS_LIMIT
from workbench.records.settings import SETTINGS_FILE, Settings
from workbench.records.truncation_table import Truncation, kept_ranges

FURTHEST = 2**62
_CONCERNED = (
    "r.quantity = k.quantity and r.unit = k.unit and k.family in ('', r.family)"
    " and k.gauge in ('', r.gauge)"
)
_OUTSIDE = "(r.micro < k.low or r.micro > k.high)"


def find_unkept(engine: Engine, settings: Settings, readable: str) -> None:
    """Make the table `unkept`: a row a fault of a reading outside what the study says was kept.

    A reading known only not to lie above a value needs some room above the lower end.
    """
    engine.run(
        'create table unkept (file integer, row bigint, place integer, "column" varchar,'
        " value varchar, code varchar, about varchar)"
    )
    ranges = list(kept_ranges(settings.truncations, settings.quantities))
    if not ranges:
        return
    engine.table(
        "kept",
        {
            "entry": pa.array([one.entry for one in ranges], pa.int64()),
            "of": pa.array([one.of for one in ranges], pa.string()),
            "quantity": pa.array([one.quantity for one in ranges], pa.string()),
            "unit": pa.array([one.unit for one in ranges], pa.string()),
            "family": pa.array([one.family for one in ranges], pa.string()),
            "gauge": pa.array([one.gauge for one in ranges], pa.string()),
            # Readings are whole millionths, so ends are brought to the next one inside.
            "low": pa.array([_bounded(one.low, math.ceil) for one in ranges], pa.int64()),
            "high": pa.array([_bounded(one.high, math.floor) for one in ranges], pa.int64()),
            "said": pa.array([one.said for one in ranges], pa.string()),
        },
    )
    engine.run(
        "insert into unkept select r.file, r.row, 0, 'value', w.value, 'not_kept', k.said"
        f" from {readable} r join kept k on k.\"of\" = 'readings' and {_CONCERNED}"
        f" join raw w on r.file = w.file and r.row = w.row where {_OUTSIDE}"
        f" or (r.contact = '{BELOW}' and r.micro <= k.low)"
    )


def truncation_notices(engine: Engine, settings: Settings) -> Iterator[Notice]:
    """Say what the study states was not kept, and of how many readings; the cells are made."""
    for at, one in enumerate(settings.truncations):
        ((n, blocks),) = engine.rows(
            "select coalesce(cast(sum(n) as bigint), 0), count(distinct block) from cells"
            " where quantity = ? and ? in ('', family) and ? in ('', gauge)",
            [one.quantity, one.family or "", one.gauge or ""],
        )
        if not n:
            yield _unused(engine, settings, at, one)
            continue
        label = settings.quantities[one.quantity].label
        yield Notice(
            file=SETTINGS_FILE,
            code="truncation",
            sentence=f"{label[:1].upper()}{label[1:]} of {_whose(one, settings)}: {one.words}; "
            f"left: {n} reading{'' if n == 1 else 's'} of {blocks} "
            f"block{'' if blocks == 1 else 's'}.{_all_the_same(engine, at)}",
        )


def _all_the_same(engine: Engine, entry: int) -> str:
    """Count readings that lie where blocks were sorted out, by a gauge of somebody else's."""
    ((n,),) = engine.rows(
        "select count(*) from (select *, k * cast(power(10, ? - decimals) as bigint) as micro"
        f" from stepped) r join kept k on k.entry = ? and {_CONCERNED} where {_OUTSIDE}",
        [DECIMALS_LIMIT, entry],
    )
    return f" {n} of these lie beyond that all the same." if n else ""


def _unused(engine: Engine, settings: Settings, at: int, one: Truncation) -> Notice:
    """Say that an entry concerns no reading, and which name may have been meant."""
    hint = ""
    for column, asked in (("family", one.family), ("gauge", one.gauge)):
        met = [name for (name,) in engine.rows(f"select distinct {column} from cells order by 1")]
        if asked is not None and asked not in met:
            hint = hint or did_you_mean(asked, tuple(name for name in met if name))
    return Notice(
        file=SETTINGS_FILE,
        code="truncation_unused",
        sentence=f"truncation[{at + 1}] concerns no accepted reading: there is none of "
        f"{settings.quantities[one.quantity].label} of {_whose(one, settings)}"
        f"{f' by “{one.gauge}”' if one.gauge else ''}{hint}.",
    )


def _whose(one: Truncation, settings: Settings) -> str:
    return "every family" if one.family is None else f"“{settings.family_label(one.family)}”"


def _bounded(end: Fraction | None, whole: Callable[[Fraction], int]) -> int | None:
    """Give an end in whole millionths, within what the engine holds; None for an open one."""
    return None if end is None else max(-FURTHEST, min(FURTHEST, whole(end * MICRO)))
