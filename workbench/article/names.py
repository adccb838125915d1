"""What quantities and families are called in figures and tables, and in which order they come."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from workbench.records.settings import Settings

DEPTHS = ("top", "upper", "middle", "centre", "lower", "bottom")


def quantity_label(settings: Settings, quantity: str) -> str:
    """Give the label of a quantity with a capital, or its name where it is not known."""
    known = settings.quantities.get(quantity)
    label = known.label if known is not None else quantity.replace("_", " ")
    return label[:1].upper() + label[1:]


def family_order(settings: Settings, met: Iterable[str]) -> tuple[str, ...]:
    """Give the families met: those of the settings first and in their order, the rest by name."""
    found = set(met)
    listed = [family for family in settings.families if family in found]
    return (*listed, *sorted(found.difference(listed)))


def station_order(settings: Settings, met: Iterable[str]) -> tuple[str, ...]:
    """Give the stations met: those of the drawing first and in their order, the rest by size."""
    found = set(met)
    drawn = settings.drawing.stations if settings.drawing is not None else {}
    listed = [station for station in drawn if station in found]
    return (*listed, *sorted(found.difference(listed), key=by_size))


def depth_order(met: Iterable[str]) -> tuple[str, ...]:
    """Give the depths met from the deck down: the usual words in order, numbers by size."""
    return tuple(sorted(set(met), key=depth_key))


def depth_key(depth: str) -> tuple[int, int, float, str]:
    """Sort the usual words of depth first, in their order."""
    word = depth.lower()
    rank = DEPTHS.index(word) if word in DEPTHS else len(DEPTHS)
    return (rank, *by_size(depth))


def by_size(text: str) -> tuple[int, float, str]:
    """Sort numbers by size, before words."""
    try:
        return (0, float(text), text)
    except ValueError:
        return (1, 0.0, text)
