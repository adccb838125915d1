"""Which calibrations the readings name, and which they should: missing, unused, of another day.

What a calibration is worth once it is fitted is looked at further down, where lines are fitted.
"""
# ruff: noqa: S608 -- statements are put together from our own names, never from a user's text

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import pandas as pd

from workbench.records.columns import CALIBRATIONS_FILE
from workbench.records.engine import Engine
from workbench.records.notice import Notice, quoted, readings_that
from workbench.records.numbers import matches
from workbench.records.settings import Settings

DAY = "^[0-9]{4}-[0-9]{2}-[0-9]{2}([ T].*)?$"


def calibration_notices(
    engine: Engine, settings: Settings, calibrations: pd.DataFrame
) -> Iterator[Notice]:
    """Give the notices on calibrations named, not named, and made too long ago."""
    gauge_of = {name: table.gauge for name, table in settings.calibrations.items() if table.gauge}
    gauge_of |= dict(zip(calibrations["calibration"], calibrations["gauge"], strict=True))
    met = _met(engine)
    yield from _not_named(met, set(gauge_of.values()))
    yield from _of_another(met, gauge_of)
    yield from _unused(met, settings, gauge_of)
    yield from _ages(engine, settings, calibrations, gauge_of)


def _met(engine: Engine) -> pd.DataFrame:
    """Give gauge, calibration and readings."""
    return engine.frame(
        "select gauge, calibration, cast(sum(n) as bigint) as n from cells"
        " group by gauge, calibration order by gauge, calibration"
    )


def _days(engine: Engine) -> pd.DataFrame:
    """Give each calibration named with the first and last day of readings under it."""
    day = "try_cast(substr(measured_on, 1, 10) as date)"
    return engine.frame(
        f"select calibration, cast(min({day}) as varchar) as first,"
        f" cast(max({day}) as varchar) as last from accepted"
        f" where calibration <> '' and {matches('measured_on', DAY)}"
        " group by calibration order by calibration"
    )


def _not_named(met: pd.DataFrame, calibrated: set[str]) -> Iterator[Notice]:
    """Point at readings of a gauge that has calibrations and that name none."""
    bare = met[(met["calibration"] == "") & met["gauge"].isin(calibrated)]
    for gauge, n in bare[["gauge", "n"]].itertuples(index=False):
        yield Notice(
            file="readings",
            code="calibration_not_named",
            sentence=f"{readings_that(n, gauge, 'name')} no calibration, though there are some "
            f"of it; {'it is' if n == 1 else 'they are'} not corrected.",
        )


def _of_another(met: pd.DataFrame, gauge_of: dict[str, str]) -> Iterator[Notice]:
    """Point at readings that name a calibration of another gauge."""
    for gauge, name, n in met[["gauge", "calibration", "n"]].itertuples(index=False):
        if gauge and name in gauge_of and gauge != gauge_of[name]:
            yield Notice(
                file="readings",
                code="calibration_of_another",
                sentence=f"{readings_that(n, gauge, 'name')} the calibration “{name}”, which is of "
                f"“{gauge_of[name]}”; {'it is' if n == 1 else 'they are'} not corrected.",
            )


def _unused(met: pd.DataFrame, settings: Settings, gauge_of: dict[str, str]) -> Iterator[Notice]:
    """Point at calibrations no reading names, unless they were made to see a drift."""
    pairs = {name for name, table in settings.calibrations.items() if table.pair_of}
    unused = sorted(set(gauge_of) - set(met["calibration"]) - pairs)
    if unused:
        yield Notice(
            file=CALIBRATIONS_FILE,
            code="calibration_unused",
            sentence=f"No accepted reading names these calibrations: {quoted(unused)}.",
        )


def _ages(
    engine: Engine,
    settings: Settings,
    calibrations: pd.DataFrame,
    gauge_of: dict[str, str],
) -> Iterator[Notice]:
    """Hold the day of each calibration against the days of the readings under it."""
    written = calibrations.loc[calibrations["made_on"] != "", ["calibration", "made_on"]]
    days = written["made_on"].map(_day)
    if days.isna().any():
        yield Notice(
            file=CALIBRATIONS_FILE,
            code="date_not_read",
            sentence="“made_on” is not written YYYY-MM-DD in "
            f"{int(days.isna().sum())} rows; those days are not used.",
        )
    made: dict[str, list[date]] = {}
    for name, day in zip(written["calibration"], days, strict=True):
        if isinstance(day, date):
            made.setdefault(name, []).append(day)
    if not made:  # the readings are gone through once more only where it matters
        return
    under = _days(engine)
    for name, first, last in under[under["first"].notna()].itertuples(index=False):
        if name in made:
            gauge = settings.gauges.get(gauge_of[name])
            holds = gauge.calibration_days if gauge else None
            days_of = (min(made[name]), max(made[name]), _day(first), _day(last))
            said = _age(*days_of, holds)  # type: ignore[arg-type]
            if said:
                yield Notice(
                    file=CALIBRATIONS_FILE,
                    code="calibration_age",
                    sentence=f"Calibration “{name}” {said}.",
                )


def _age(made: date, again: date, first: date, last: date, holds: float | None) -> str:
    """Say how a calibration made on `made` (and `again`) stands to readings from first to last."""
    if made > first:
        return f"was made on {made}, after the first reading under it ({first})"
    days = max((last - again).days, 0)
    if holds is None and days:
        return (
            f"was made on {again}, {days} days before the last reading under it ({last}); "
            "“calibration_days” of its gauge would say how long it holds"
        )
    if holds is not None and days > holds:
        return (
            f"was made on {again}, {days} days before the last reading under it ({last}); "
            f"it is said to hold for {holds:g}"
        )
    return ""


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text[:10])
    except ValueError:
        return None
