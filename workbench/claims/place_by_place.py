"""Thicker here, not there: the difference a claim is of, place by place.

The places of a block are taken to scatter about its mean in a way of their own, as they do where
cores lie off centre, so that blocks and not readings are the evidence. The shared error of
measuring counts at every place, and all intervals of a row of places hold together.
"""

from __future__ import annotations

from dataclasses import dataclass

from workbench.claims.analysis import Analysis
from workbench.claims.footing import PLACES
from workbench.errors import Refusal
from workbench.inference.nested.interaction import nested_interaction
from workbench.inference.results import Difference, Interval
from workbench.inference.simultaneous import simultaneous_intervals


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceByPlace:
    """Candidate less reference at each place of one kind, `by`, and whether it is one everywhere.

    `intervals` hold at all places together; `p_value` is that of one difference everywhere.
    """

    by: str
    differences: dict[str, Difference]
    intervals: dict[str, Interval]
    p_value: float

    @property
    def most(self) -> str:
        """The place where the candidate exceeds the reference most."""
        return max(self.differences, key=lambda place: self.differences[place].estimate)

    @property
    def least(self) -> str:
        """The place where the candidate exceeds the reference least."""
        return min(self.differences, key=lambda place: self.differences[place].estimate)


def place_by_place(analysis: Analysis, by: str, confidence: float) -> PlaceByPlace:
    """Answer at which stations, or depths, the families differ, and whether alike at all.

    Raises
    ------
    Refusal
        `analysis_does_not_fit` where there is one station (depth) alone; what the model refuses.
    """
    if by not in analysis.factors:
        raise Refusal(
            "analysis_does_not_fit", f"The readings that enter name one {by} alone, or none."
        )
    evidence, shared = analysis.evidence, analysis.shared
    found = nested_interaction(
        evidence.cells,
        response="mean",
        factor="family",
        candidate=evidence.candidate,
        reference=evidence.reference,
        by=by,
        fixed=[name for name in analysis.factors if name != by],
        nesting=("block", by),
    )
    differences = {
        place: one.widened(shared.uncertainty, shared.degrees_of_freedom)
        for place, one in found.differences.items()
    }
    together = simultaneous_intervals(tuple(differences.values()), confidence, "sidak")
    return PlaceByPlace(
        by=by,
        differences=differences,
        intervals=dict(zip(differences, together.intervals, strict=True)),
        p_value=found.test.p_value,
    )


def places_of(analysis: Analysis) -> tuple[str, ...]:
    """Name the kinds of place the readings were made at more than one of."""
    return tuple(name for name in PLACES if name in analysis.factors)
