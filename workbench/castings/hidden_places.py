"""Places of a block that may be missing because what was read there was never kept.

Where a gauge shows nothing thin, the thinnest places of a block leave no row behind, and what is
left of it looks sound. So where the study states such a thing, a bore that lacks a place read
elsewhere is not taken as known: like one with a reading that says only "not above".
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import pandas as pd

from workbench.records.truncation_table import Truncation, truncations_of

PLACES_SHOWN = 3
Hidden = Mapping[tuple[str, str], str]


def hidden_places(shown: pd.DataFrame, truncations: Sequence[Truncation], quantity: str) -> Hidden:
    """Say by block and bore which places may be hidden, and why; none where all was kept.

    Parameters
    ----------
    shown
        Moments of one quantity: `family, block, bore, station, depth, gauge, sampling, n`.
    truncations
        What the study states was never kept.
    quantity
        The quantity.
    """
    stated = [one for one in truncations if one.quantity == quantity and one.of == "readings"]
    if not stated:
        return {}
    read = shown[shown["n"] > 0]
    grid = read.loc[read["sampling"] == "grid", ["station", "depth"]].drop_duplicates()
    places = set(grid.itertuples(index=False, name=None))
    return dict(_lacking(read, places, stated, quantity))


def _lacking(
    read: pd.DataFrame, places: set[tuple[str, str]], stated: Sequence[Truncation], quantity: str
) -> Iterator[tuple[tuple[str, str], str]]:
    """Give the sentence of each bore that lacks a place, of the families concerned."""
    for (family, block), of_block in read.groupby(["family", "block"], sort=True):
        why = [
            one.words
            for one in truncations_of(stated, quantity, str(family))
            if one.gauge is None or one.gauge in set(of_block["gauge"])
        ]
        for bore, rows in of_block.groupby("bore", sort=True) if why else ():
            there = set(rows[["station", "depth"]].itertuples(index=False, name=None))
            if lacking := sorted(places - there):
                yield (str(block), str(bore)), _sentence(lacking, why)


def _sentence(lacking: Sequence[tuple[str, str]], why: Sequence[str]) -> str:
    names = [" ".join(part for part in place if part) for place in lacking]
    shown = "; ".join(name for name in names[:PLACES_SHOWN] if name)
    more = f" and {len(names) - PLACES_SHOWN} more" if len(names) > PLACES_SHOWN else ""
    verb = "place read elsewhere is" if len(names) == 1 else "places read elsewhere are"
    return (
        f"{len(names)} {verb} not in the records ({shown}{more}), and {' and '.join(why)}: what "
        "is there is not known."
    )
