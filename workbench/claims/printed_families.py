"""A family as it is known: by readings of the study's own, or only by what sources print of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from workbench.castings.calibration import Calibrations
from workbench.castings.measuring import SharedError, shared_error
from workbench.claims.claim import Claim
from workbench.claims.evidence import Evidence, gather_one
from workbench.claims.footing import as_one_gauge, block_means, factors_of
from workbench.inference.means.grouped_means import grouped_means
from workbench.inference.means.welch import Summary
from workbench.inference.samples import Values
from workbench.records.settings import Gauge, Settings
from workbench.records.summary_table import PrintedSummary


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedFamily:
    """What sources print of a family: one summary a source, in the unit of the claim.

    `uncertainties` are the standard uncertainties the sources state of their measuring, 0 where
    they state none.
    """

    family: str
    sources: tuple[str, ...]
    summaries: tuple[Summary, ...]
    uncertainties: tuple[float, ...]

    @property
    def blocks(self) -> int:
        """Blocks over all sources."""
        return sum(summary.n for summary in self.summaries)

    def only(self, sources: tuple[str, ...]) -> PrintedFamily:
        """Give what some of the sources print."""
        kept = [at for at, name in enumerate(self.sources) if name in sources]
        return PrintedFamily(
            family=self.family,
            sources=tuple(self.sources[at] for at in kept),
            summaries=tuple(self.summaries[at] for at in kept),
            uncertainties=tuple(self.uncertainties[at] for at in kept),
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReadFamily:
    """What the study's own readings say of a family: its block means, and the gauges' error."""

    family: str
    evidence: Evidence
    means: Values
    shared: SharedError

    @property
    def blocks(self) -> int:
        """Blocks read."""
        return int(self.means.size)


KnownFamily = PrintedFamily | ReadFamily


def printed_of(settings: Settings, quantity: str, family: str) -> tuple[PrintedSummary, ...]:
    """Give the entries of `[[summaries]]` on a family's quantity."""
    return tuple(
        item for item in settings.summaries if (item.quantity, item.family) == (quantity, family)
    )


def rests_on_print(claim: Claim, cells: pd.DataFrame, settings: Settings) -> bool:
    """Tell whether a family of the claim has no reading and is known from print."""
    if not settings.summaries:
        return False
    mine = (cells["quantity"] == claim.quantity) & (cells["n"] > 0)
    read = set(cells["family"][mine].unique())
    return any(
        family not in read and printed_of(settings, claim.quantity, family)
        for family in (claim.candidate, claim.reference)
    )


def known_family(
    claim: Claim,
    family: str,
    cells: pd.DataFrame,
    settings: Settings,
    calibrations: Calibrations,
) -> KnownFamily:
    """Give what is known of a family: by its readings where there are any, else from print.

    Raises
    ------
    Refusal
        `no_readings` where there is neither; `unit_mismatch` where a source's unit cannot be turned
        into that of the claim.
    """
    printed = printed_of(settings, claim.quantity, family)
    mine = cells[(cells["quantity"] == claim.quantity) & (cells["family"] == family)]
    if printed and not (mine["n"] > 0).any():
        scales = [item.scale(claim.unit) for item in printed]
        return PrintedFamily(
            family=family,
            sources=tuple(item.source for item in printed),
            summaries=tuple(
                Summary(n=item.n, mean=item.mean * scale, sd=item.sd * scale)
                for item, scale in zip(printed, scales, strict=True)
            ),
            uncertainties=tuple(
                (item.uncertainty or 0.0) * scale
                for item, scale in zip(printed, scales, strict=True)
            ),
        )
    evidence = gather_one(
        cells,
        quantity=claim.quantity,
        family=family,
        unit=claim.unit,
        calibrations=calibrations,
    )
    return _read(evidence, settings.gauges)


def _read(evidence: Evidence, gauges: Mapping[str, Gauge]) -> ReadFamily:
    evidence = as_one_gauge(evidence)
    cells = evidence.cells
    factors = [name for name in factors_of(cells)[0] if name != "gauge"]
    groups = ["family", "block", *(["bore"] if (cells["bore"] != "").any() else [])]
    means = block_means(grouped_means(cells, groups=groups, factors=factors))
    return ReadFamily(
        family=evidence.candidate,
        evidence=evidence,
        means=means["mean"].to_numpy(float),
        shared=shared_error(
            cells,
            _weights(cells),
            gauges,
            evidence.unit,
            evidence.calibrations,
            blocks_vary=True,
        ),
    )


def _weights(cells: pd.DataFrame) -> Values:
    """Give each cell's weight in the mean of block means: bores of a block and blocks alike."""
    n = cells["n"].to_numpy(float)
    of_bore = cells.groupby(["block", "bore"])["n"].transform("sum").to_numpy(float)
    bores = cells.groupby("block")["bore"].transform("nunique").to_numpy(float)
    return np.asarray(n / of_bore / bores / cells["block"].nunique(), dtype=float)
