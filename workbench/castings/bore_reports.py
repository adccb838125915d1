"""Each bore of a block: its thinnest place read, the least wall anywhere, its core shift."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial

import pandas as pd

from workbench.castings.answers import Answers
from workbench.castings.bores.shift_of_block import BlockShift
from workbench.castings.bores.wall_draws import BlockDraws
from workbench.castings.bores.wall_map import least_wall
from workbench.castings.inspection import Inspection
from workbench.castings.places import WALL
from workbench.errors import Refusal
from workbench.inference.directions.vector import VectorEstimate
from workbench.inference.estimates import Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastRead:
    """The thinnest place read: its wall, in words where it is, and whether it was hunted for.

    `at_most` tells that it was read only as not above `wall`.
    """

    wall: float
    where: str
    hunted: bool
    at_most: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BoreReport:
    """One bore: its thinnest place read, the least wall anywhere, its core shift.

    None where not answered; the report of the block says why.
    """

    bore: str
    least_read: LeastRead | None
    least: Estimate | None
    shift: VectorEstimate | None


def bore_reports(
    inspection: Inspection, block: str, draws: BlockDraws | None, shift: BlockShift | None
) -> tuple[BoreReport, ...]:
    """Answer for each bore of a block that was read; none where no wall was."""
    if WALL not in inspection.places:
        return ()
    walls = inspection.places[WALL]
    read = pd.concat(
        [
            frame[(frame["block"] == block) & (frame["bore"] != "")].assign(hunted=hunted)
            for frame, hunted in ((walls.places, False), (walls.searched, True))
        ],
        ignore_index=True,
    )
    names = sorted(read["bore"].unique(), key=lambda name: (len(name), name))
    return tuple(
        BoreReport(
            bore=str(name),
            least_read=_least_read(read[read["bore"] == name]),
            least=least_known(draws, str(name), inspection.settings.confidence),
            shift=None if shift is None else shift.bores.get(str(name)),
        )
        for name in names
    )


def _least_read(read: pd.DataFrame) -> LeastRead:
    row = read.iloc[int(read["mean"].to_numpy(float).argmin())]
    angle, at_most = float(row["angle"]), row.get("below") is True
    named = str(row["station"])
    turn = "" if math.isnan(angle) or named == f"{angle:g}" else f" ({angle:.0f}°)"
    station = f"{named}{turn}" if named else ""
    return LeastRead(
        wall=float(row["mean"]),
        where=", ".join(part for part in (station, str(row["depth"])) if part),
        hunted=bool(row["hunted"]) and not at_most,
        at_most=at_most,
    )


def least_known(draws: BlockDraws | None, bore: str | None, confidence: float) -> Estimate | None:
    """Give the least wall of a bore or of the block, None where it is not known all round."""
    if draws is None:
        return None
    try:
        return least_wall(draws, bore, confidence)
    except Refusal:
        return None


def open_walls(draws: BlockDraws) -> dict[str, str]:
    """Say of each bore that was not read, or not all round, why its least wall is not known."""
    answers = Answers()
    for name in (*draws.bores, *draws.not_answered):
        answers.of(name, partial(least_wall, draws, name))
    return answers.refused
