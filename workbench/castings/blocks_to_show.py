"""Which blocks a run shows in full where nobody asks for one: one of each family, by a rule."""

from __future__ import annotations

import pandas as pd

from workbench.castings.inspection import Inspection
from workbench.castings.places import WALL

MOST = 6


def thinnest_blocks(inspection: Inspection) -> tuple[str, ...]:
    """Give the block with the thinnest wall read in each family, at most `MOST` of them.

    Families come in the order of the study, then by name; one whose walls nobody read gives its
    first block by name.
    """
    met = sorted(set(inspection.families.values()))
    order = [name for name in inspection.settings.families if name in met]
    order += [name for name in met if name not in order]
    least: dict[str, str] = {}
    if WALL in inspection.places:
        walls = inspection.places[WALL]
        read = pd.concat([walls.places, walls.searched], ignore_index=True)
        thinnest = read.sort_values(["mean", "block"]).drop_duplicates("family")
        least = dict(
            zip(thinnest["family"].astype(str), thinnest["block"].astype(str), strict=True)
        )
    first = {
        family: min(name for name, own in inspection.families.items() if own == family)
        for family in order
    }
    return tuple(least.get(family, first[family]) for family in order[:MOST])
