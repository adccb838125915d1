"""The small tables the row rules look words up in: what each written word of the readings means.

Only the distinct words of a column are looked at, the commonest first and at most `WORDS_READ` of
them: a column with more is not one of words, and those beyond count as unknown.
"""
# ruff: noqa: S608 -- statements are put together from our own names, never from a user's text

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import TYPE_CHECKING, Any

import pyarrow as pa

from workbench.records.columns import CONTACT, ID_LENGTH, SAMPLING, WORDS, plain
from workbench.records.numbers import MICRO
from workbench.records.settings import Settings
from workbench.records.units import canonical_unit, exact_factor, kind_of

if TYPE_CHECKING:
    from workbench.records.engine import Engine

WORDS_READ = 10_000
NAMES_READ = 100_000
# What is too large to be true, in mm, kg and on a hardness scale; a user's own unit to 10 million.
LARGEST = {"length": (10_000, "mm"), "mass": (10_000, "kg"), "hardness": (10_000, None)}


def fill_lookups(
    engine: Engine, readings: str, settings: Settings, gauges: Collection[str] = ()
) -> None:
    """Make `quantity_words`, `unit_words`, `sampling_words`, `contact_words`, `station_words`.

    And `gauge_words`: with names in `gauges` the study says which it has, else any may be. `scale`
    is the hardness scale a gauge reads on ("" for any rebound scale, null where nothing says), and
    `presses` whether it states what it presses an impression with.
    """
    _fill(
        engine,
        readings,
        "quantity",
        lambda word: _quantity(word, settings),
        {"name": pa.string(), "kind": pa.string(), "signed": pa.bool_(), "unit": pa.string()},
    )
    _fill(
        engine,
        readings,
        "unit",
        _unit,
        {"name": pa.string(), "kind": pa.string(), "most": pa.int64()},
    )
    one_name = {"name": pa.string()}
    _fill(engine, readings, "sampling", lambda word: _choice(word, "sampling", SAMPLING), one_name)
    _fill(engine, readings, "contact", lambda word: _choice(word, "contact", CONTACT), one_name)
    _fill(
        engine,
        readings,
        "station",
        lambda word: (station_name(word, settings),),
        one_name,
        most=NAMES_READ,
    )
    _fill(
        engine,
        readings,
        "gauge",
        lambda word: _gauge(word, gauges, settings),
        {"name": pa.string(), "scale": pa.string(), "presses": pa.bool_()},
        NAMES_READ,
    )


def _fill(
    engine: Engine,
    readings: str,
    column: str,
    meaning: Callable[[str], tuple[Any, ...]],
    kinds: dict[str, pa.DataType],
    most: int | None = None,
) -> None:
    """Look up each distinct word of a column and keep the answers as a table."""
    words: Sequence[str] = [
        word
        for word, _ in engine.rows(
            f"select {column}, count(*) as n from {readings} group by {column}"
            f" order by n desc, {column} limit {most or WORDS_READ}"
        )
    ]
    answers = [meaning(word) for word in words]
    arrays = {
        name: pa.array([answer[at] for answer in answers], kind)
        for at, (name, kind) in enumerate(kinds.items())
    }
    engine.table(f"{column}_words", {"written": pa.array(words, pa.string()), **arrays})


def _quantity(word: str, settings: Settings) -> tuple[str | None, str | None, bool, str | None]:
    """Give the quantity meant; a study's own name comes before another word for a built-in one."""
    wanted = plain(word)
    names = {plain(name): name for name in settings.quantities}
    found = word if word in settings.quantities else names.get(wanted)
    found = found or names.get(WORDS["quantity"].get(wanted, ""))
    if found is None:
        return None, None, True, None
    quantity = settings.quantities[found]
    return found, quantity.kind, quantity.signed, quantity.unit


def _unit(word: str) -> tuple[str | None, str | None, int | None]:
    unit = canonical_unit(word)
    if unit is None:
        return None, None, None
    kind = kind_of(unit) or "other"
    size, of = LARGEST[kind]
    factor = exact_factor(of, unit) if of else 1
    return unit, kind, int(size * factor * MICRO)


def _choice(word: str, column: str, choices: tuple[str, ...]) -> tuple[str | None]:
    """Give the word meant; an empty cell means the first, the default."""
    wanted = plain(word)
    wanted = WORDS[column].get(wanted, wanted)
    return (choices[0] if not wanted else wanted if wanted in choices else None,)


def _gauge(
    word: str, gauges: Collection[str], settings: Settings
) -> tuple[str | None, str | None, bool]:
    """Give a gauge its name, None for one unknown; what is no name is left to other rules."""
    no_name = word[:1] in ("=", "#") or not word.isprintable() or len(word) > ID_LENGTH
    name = word if word in gauges or not gauges or no_name else None
    stated = settings.gauges.get(word)
    if stated is None:
        return name, None, False
    return name, stated.scale, stated.impression is not None


def station_name(word: str, settings: Settings) -> str | None:
    """Give a station its one name: that of the drawing, else its angle in degrees.

    Where the drawing names stations, another name is None; without a drawing it stays as written.
    """
    stations = settings.drawing.stations if settings.drawing else {}
    by_plain = {plain(name): name for name in stations}
    if plain(word) in by_plain:
        return by_plain[plain(word)]
    try:
        angle = float(word.removesuffix("°").strip().replace(",", "."))
    except ValueError:
        return None if stations and word else word
    if not 0 <= angle <= 360:
        return None if stations else word
    angle %= 360
    return next((name for name, at in stations.items() if at == angle), f"{angle:g}")
