"""What a reader of the records should know that is no fault, found by asking the engine."""
# ruff: noqa: S608 -- statements are put together from our own names, never from a user's text

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from workbench.records.allowance_table import missing_parts
from workbench.records.columns import BELOW, CALIBRATIONS_FILE, did_you_mean
from workbench.records.engine import Engine
from workbench.records.notice import NAMES_SHOWN, Notice, quoted, readings_that
from workbench.records.numbers import matches
from workbench.records.settings import SETTINGS_FILE, Settings
from workbench.records.unkept import truncation_notices


def notices_of(
    engine: Engine,
    settings: Settings,
    equal_rows: int,
    blocks: pd.DataFrame,
    calibrations: pd.DataFrame,
) -> Iterator[Notice]:
    """Give the notices of the rows read; the engine holds the tables of intake."""
    yield from _decimal_marks(engine)
    if equal_rows:
        yield _readings(
            "equal_rows",
            f"{equal_rows} readings are equal to an earlier one of their place and were kept: "
            "places are read several times without repeat numbers here.",
        )
    yield from _censored(engine)
    yield from truncation_notices(engine, settings)
    yield from _parts(engine, settings, blocks)
    yield from _near_names(engine)
    yield from _unlisted(engine, settings, calibrations)
    dates = engine.rows(
        "select count(*) from accepted where measured_on <> '' and not"
        f" ({matches('measured_on', '^[0-9]{4}-[0-9]{2}-[0-9]{2}([ T].*)?$')}"
        " and try_cast(substr(measured_on, 1, 10) as date) is not null)"
    )[0][0]
    if dates:
        yield _readings(
            "date_not_read",
            f"“measured_on” is not written YYYY-MM-DD in {dates} rows; those days are not used.",
        )
    met = {block for (block,) in engine.rows("select distinct block from cells")}
    unread = sorted(set(blocks["block"]) - met)
    if unread:
        yield Notice(
            file="blocks.csv",
            code="blocks_not_read",
            sentence=f"{len(unread)} blocks have no accepted reading: {quoted(unread)}.",
        )


def _decimal_marks(engine: Engine) -> Iterator[Notice]:
    """Say where numbers were read otherwise than a plain decimal point would be."""
    found = engine.rows(
        "select f.name, n.mark, min(n.value), count(*) from numbers n"
        " join files f on n.file = f.file join looks l"
        " on n.file = l.file and n.exact = l.exact and n.value = l.value"
        " where f.stated = '' and not n.exact and n.look = 'number'"
        " and (n.mark = 'comma' or l.look = 'either_comma') group by f.name, n.mark, f.file"
        " order by f.file, n.mark"
    )
    for name, mark, example, _ in found:
        how = "with a decimal comma" if mark == "comma" else "with a comma for thousands"
        yield Notice(
            file=name, code="decimal_mark", sentence=f"Numbers such as “{example}” were read {how}."
        )


def _censored(engine: Engine) -> Iterator[Notice]:
    """Count the readings that say only that a value is not above them."""
    found = engine.rows(
        f"select gauge, cast(sum(n) as bigint) from cells where contact = '{BELOW}'"
        " group by gauge order by gauge"
    )
    for gauge, n in found:
        yield _readings(
            "censored_readings",
            f"{readings_that(int(n), gauge, 'say')} only that "
            "the true value is not above the shown one (written with “<”, or at the lower limit of "
            f"the gauge); {'it enters' if n == 1 else 'they enter'} no mean.",
        )


def _parts(engine: Engine, settings: Settings, blocks: pd.DataFrame) -> Iterator[Notice]:
    """Point at blocks weighed without parts whose mass the study does not state."""
    kinds = [name for name, quantity in settings.quantities.items() if quantity.kind == "mass"]
    weighed = {
        block
        for block, quantity in engine.rows("select distinct block, quantity from cells")
        if quantity in kinds
    }
    unknown: dict[str, list[str]] = {}
    for block, text in blocks[["block", "missing_parts"]].itertuples(index=False):
        if block in weighed:
            for part in missing_parts(text, settings.parts).unknown:
                unknown.setdefault(part, []).append(block)
    for part, of in unknown.items():
        yield Notice(
            file="blocks.csv",
            code="part_not_stated",
            sentence=f"“{part}” was off blocks when they were weighed ({quoted(of)}), and [parts] "
            f"of {SETTINGS_FILE} states no mass for it; nothing is added.",
        )


def _near_names(engine: Engine) -> Iterator[Notice]:
    """Point at names that differ only in case or spacing and may be one thing."""
    for column in ("family", "block", "gauge", "station", "depth", "operator"):
        found = engine.rows(
            f"select min({column}), max({column}) from (select distinct {column} from cells)"
            f" group by lower(replace({column}, ' ', '')) having count(*) > 1"
            f" order by 1 limit {NAMES_SHOWN}"
        )
        for first, second in found:
            yield _readings(
                "near_names",
                f"“{column}” has both “{first}” and “{second}”, which differ only in case or "
                "spaces; they are kept apart.",
            )


def _unlisted(engine: Engine, settings: Settings, calibrations: pd.DataFrame) -> Iterator[Notice]:
    """Point at families, depths, gauges and calibrations the study does not describe."""
    depths = tuple(settings.drawing.depths) if settings.drawing is not None else ()
    listed = {
        "family": (tuple(settings.families), f"[families] of {SETTINGS_FILE}"),
        "depth": (depths, f"[drawing.depths] of {SETTINGS_FILE}"),
        "gauge": (tuple(settings.gauges), f"[gauges] of {SETTINGS_FILE}"),
        "calibration": (
            (*calibrations["calibration"].unique(), *settings.calibrations),
            CALIBRATIONS_FILE,
        ),
    }
    for column, (known, where) in listed.items():
        if column in ("family", "depth") and not known:
            continue
        met = [name for (name,) in engine.rows(f"select distinct {column} from cells order by 1")]
        if column == "depth":  # a number is a depth by itself
            met = [name for name in met if not name.replace(".", "", 1).isdigit()]
        strange = [name for name in met if name and name not in known]
        if strange:
            hint = did_you_mean(strange[0], known)
            yield _readings(
                f"{column}_not_listed",
                f"“{column}” has names that are not in {where}: {quoted(strange)}{hint}.",
            )


def _readings(code: str, sentence: str) -> Notice:
    return Notice(file="readings", code=code, sentence=sentence)
