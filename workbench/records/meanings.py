"""What a written value means where it is not the number itself: three small tables the rules join.

An impression's diameter under a gauge that states load and ball is a hardness; a word is the grade
of a feature; and a number at or below the lower limit of its gauge says only that the value is not
above that limit. Each distinct value is looked at once, and only where the study has such readings.
"""
# ruff: noqa: S608 -- statements are put together from our own names, never from a user's text

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

import pyarrow as pa

from workbench.errors import Refusal
from workbench.records.brinell import brinell
from workbench.records.gauge_table import Indenter
from workbench.records.lookups import NAMES_READ
from workbench.records.numbers import MICRO
from workbench.records.reduction import DECIMALS_LIMIT
from workbench.records.settings import Settings
from workbench.records.units import exact_factor, factor

if TYPE_CHECKING:
    from workbench.records.engine import Engine

Meant = tuple[int | None, int]  # millionths of the unit (None: it means nothing) and decimals


@dataclass(frozen=True, slots=True, kw_only=True)
class Meanings:
    """Which of the tables were made, and what the statement of the rules says of them."""

    impressions: bool = False
    grades: bool = False
    limits: bool = False

    @property
    def joins(self) -> str:
        """The joins of the tables that were made."""
        parts = []
        if self.impressions:
            parts.append(
                "left join impressions i on q.kind = 'hardness' and u.kind = 'length'"
                " and r.gauge = i.gauge and r.unit = i.unit and n.micro = i.shown"
                " and n.decimals = i.written"
            )
        if self.grades:
            parts.append("left join grades w on r.quantity = w.quantity and r.value = w.value")
        if self.limits:
            parts.append("left join limits l on r.gauge = l.gauge and r.unit = l.unit")
        return "\n    ".join(parts)

    @property
    def at_limit(self) -> str:
        """The condition that a number lies at the lower limit of its gauge or below."""
        return "coalesce(n.micro <= l.micro, false)" if self.limits else "false"

    def meant(self, column: str) -> str:
        """Give what is meant: `micro` or `decimals`."""
        cases = [f"when u.kind = 'length' and q.kind = 'hardness' then {self._of('i', column)}"]
        cases.append(f"when q.kind = 'feature' then {self._of('w', column)}")
        if self.limits:
            cases.append(f"when {self.at_limit} then greatest(n.{column}, l.{column})")
        return f"case {' '.join(cases)} else n.{column} end"

    def _of(self, table: str, column: str) -> str:
        made = self.impressions if table == "i" else self.grades
        return f"{table}.{column}" if made else "null"


def fill_meanings(engine: Engine, readings: str, settings: Settings) -> Meanings:
    """Make the tables the readings need; `numbers` and the words of the lookups are there."""
    pressing = {
        name: gauge.impression for name, gauge in settings.gauges.items() if gauge.impression
    }
    features = any(quantity.kind == "feature" for quantity in settings.quantities.values())
    limits = [name for name, gauge in settings.gauges.items() if gauge.lower_limit is not None]
    if pressing:
        _impressions(engine, readings, pressing)
    if features:
        _grades(engine, readings, settings)
    if limits:
        _limits(engine, settings, limits)
    return Meanings(impressions=bool(pressing), grades=features, limits=bool(limits))


def pressed(indenter: Indenter, unit: str, shown: int, written: int) -> Meant:
    """Give the hardness of an impression `shown` (millionths of `unit`, `written` decimals).

    It is given to the coarsest decimal that one step of the diameter still moves by one or more.
    """
    ball = float(indenter.ball) * factor(indenter.ball_unit, "mm")
    to_mm = exact_factor(unit, "mm")
    diameter = float(Fraction(shown, MICRO) * to_mm)
    try:
        found = brinell(indenter.load, ball, diameter, load_unit=indenter.load_unit)
    except Refusal:
        return None, 0
    step = abs(found.per_diameter) * float(to_mm) * 10.0**-written
    decimals = min(DECIMALS_LIMIT, max(0, math.ceil(-math.log10(step))))
    return round(found.hardness * 10**decimals) * 10 ** (DECIMALS_LIMIT - decimals), decimals


def _impressions(engine: Engine, readings: str, pressing: dict[str, Indenter]) -> None:
    found = engine.rows(
        "select distinct r.gauge, r.unit, u.name, n.micro, n.decimals"
        f" from {readings} r join numbers n"
        " on r.file = n.file and r.exact = n.exact and r.value = n.value"
        " join quantity_words q on r.quantity = q.written join unit_words u on r.unit = u.written"
        " where q.kind = 'hardness' and u.kind = 'length' and n.look = 'number' and n.micro > 0"
        " order by 1, 2, 4, 5"
    )
    rows = [row for row in found if row[0] in pressing]
    meant = [pressed(pressing[gauge], unit, *shown) for gauge, _, unit, *shown in rows]
    _table(
        engine,
        "impressions",
        meant,
        gauge=pa.array([row[0] for row in rows], pa.string()),
        unit=pa.array([row[1] for row in rows], pa.string()),
        shown=pa.array([row[3] for row in rows], pa.int64()),
        written=pa.array([row[4] for row in rows], pa.int64()),
    )


def _grades(engine: Engine, readings: str, settings: Settings) -> None:
    rows = engine.rows(
        f"select r.quantity, q.name, r.value, count(*) as n from {readings} r"
        " join quantity_words q on r.quantity = q.written where q.kind = 'feature'"
        f" group by r.quantity, q.name, r.value order by n desc, 1, 3 limit {NAMES_READ}"
    )
    grades = [settings.quantities[name].grade(value) for _, name, value, _ in rows]
    _table(
        engine,
        "grades",
        [(None if grade is None else grade * MICRO, 0) for grade in grades],
        quantity=pa.array([row[0] for row in rows], pa.string()),
        value=pa.array([row[2] for row in rows], pa.string()),
    )


def _limits(engine: Engine, settings: Settings, gauges: Iterable[str]) -> None:
    """Give the lower limit of each gauge in every unit met that fits its own."""
    words = engine.rows("select written, name from unit_words where name is not null order by 1")
    rows = []
    for name in gauges:
        gauge = settings.gauges[name]
        assert gauge.lower_limit is not None
        for written, unit in words:
            try:
                scale = exact_factor(gauge.unit or unit, unit)
            except Refusal:
                continue
            rows.append((name, written, round(Fraction(str(gauge.lower_limit)) * scale * MICRO)))
    _table(
        engine,
        "limits",
        [(row[2], 0) for row in rows],
        gauge=pa.array([row[0] for row in rows], pa.string()),
        unit=pa.array([row[1] for row in rows], pa.string()),
    )


def _table(engine: Engine, name: str, meant: list[Meant], **columns: pa.Array) -> None:
    engine.table(
        name,
        {
            **columns,
            "micro": pa.array([micro for micro, _ in meant], pa.int64()),
            "decimals": pa.array([decimals for _, decimals in meant], pa.int64()),
        },
    )
