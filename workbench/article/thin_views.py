"""What the notebook of thin spots shows, section by section."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbench.article.answer import Answer
from workbench.article.asked import families_asked, quantity_asked
from workbench.article.figures.minimum_by_grid import minimum_by_grid
from workbench.article.figures.share_below import share_below
from workbench.article.gathering import unit_shown
from workbench.article.kept_words import as_kept_words
from workbench.article.names import quantity_label
from workbench.article.text import counted
from workbench.article.thin_tables import (
    meaning,
    not_answered,
    shares_table,
    three_ways_table,
    where_table,
)
from workbench.castings.family_places import FamilyPlaces, family_places
from workbench.castings.inspection import DECK
from workbench.castings.kept import kept_everywhere
from workbench.castings.places import WALL
from workbench.castings.stated_rules import stated_duties
from workbench.castings.thin_spots import ThinFamily, thin_family
from workbench.errors import Refusal
from workbench.records.faults import FaultsError
from workbench.records.rounding import interval_text, quantity_text
from workbench.records.truncation_table import truncations_of
from workbench.records.units import factor

if TYPE_CHECKING:
    from workbench.article.picture import Picture
    from workbench.article.tables import Table
    from workbench.inference.distributions.readings import Window
    from workbench.study import Study

MOST_LIMITS = 4
ONE_IN = 10  # blocks: where no limit is stated, the value that one in so many falls below
LEAST_OF = {WALL: "least_wall", DECK: "least_deck"}
NOTHING = "Nothing to show"


@dataclass(frozen=True, slots=True, kw_only=True)
class ThinSpotsFound:
    """The families asked for, what was refused of them, and where the limits come from."""

    quantity: str
    label: str
    found: Mapping[str, ThinFamily]
    refused: Mapping[str, str]
    labels: Mapping[str, str]
    confidence: float
    asked: Answer


def thin_spots_of(
    study: Study, *, quantity: str, limit: float | None, families: Sequence[str], seed: int
) -> ThinSpotsFound:
    """Look for the thin spots of a quantity; what cannot be answered is kept as a sentence.

    Parameters
    ----------
    study
        The study.
    quantity
        Its name; "" for the walls, or the quantity read most where there are none.
    limit
        In the unit the study shows the quantity in; None for the limits its duties state.
    families
        The families to look at; none for all.
    seed
        Of what is drawn.
    """
    try:
        return _looked_for(study, quantity, limit, families, seed)
    except (Refusal, FaultsError) as refusal:
        return ThinSpotsFound(
            quantity=quantity,
            label=quantity,
            found={},
            refused={},
            labels={},
            confidence=study.settings.confidence,
            asked=Answer(paragraphs=((NOTHING, str(refusal)),)),
        )


def three_ways_shown(of: ThinSpotsFound) -> Iterator[Table | Answer]:
    """Give the three ways side by side, shares of places, bores and blocks, and what is missing."""
    if any(thin.limits for thin in of.found.values()):
        yield three_ways_table(of.found, of.labels, of.confidence)
        yield shares_table(of.found, of.labels, of.confidence)
    missing = not_answered(of.found, of.refused, of.labels)
    if missing is not None:
        yield missing


def curves_shown(of: ThinSpotsFound, footer: str) -> Iterator[Picture]:
    """Give the curves of shares over limits."""
    if of.found:
        yield share_below(of.found, of.labels, of.label, footer=footer)


def grids_shown(of: ThinSpotsFound, footer: str) -> Iterator[Picture]:
    """Give the curves of the thinnest place over the places looked at."""
    if any(thin.by_grid is not None for thin in of.found.values()):
        yield minimum_by_grid(of.found, of.labels, of.label, footer=footer)


def where_shown(of: ThinSpotsFound) -> Iterator[Table]:
    """Give where blocks are thinnest."""
    if any(thin.same for thin in of.found.values()):
        yield where_table(of.found, of.labels)


def meaning_shown(of: ThinSpotsFound) -> Answer:
    """Give what it means for a builder, family by family."""
    return meaning(of.found, of.labels, of.confidence) if of.found else of.asked


def _looked_for(
    study: Study, quantity: str, limit: float | None, families: Sequence[str], seed: int
) -> ThinSpotsFound:
    settings, records = study.settings, study.records
    name = quantity_asked(study, quantity)
    unit = unit_shown(records, settings, name, study.calibrations)
    known, refused = family_places(records.cells, settings, study.calibrations, name, unit)
    asked = [families] if isinstance(families, str) else families
    chosen = families_asked(study, name, asked, [*known, *refused])
    places = {family: known[family] for family in chosen if family in known}
    confidence = settings.confidence
    labels = settings.family_labels(records.blocks["family"])
    limits, why = _limits(study, name, unit, limit, places, seed)
    return ThinSpotsFound(
        quantity=name,
        label=quantity_label(settings, name),
        found={
            family: thin_family(of, limits, confidence=confidence, seed=seed, kept=_kept(study, of))
            for family, of in places.items()
        },
        refused={family: refused[family] for family in chosen if family in refused},
        labels=labels,
        confidence=confidence,
        asked=_asked(study, name, places, labels, why),
    )


def _check_limit(limit: object) -> None:
    """Refuse what is no limit, as a text would be."""
    number = isinstance(limit, int | float) and not isinstance(limit, bool)
    if not number or not 0 < float(limit) < math.inf:  # type: ignore[arg-type]
        raise Refusal(
            "bad_limit", f"A limit is a number above 0 in the unit of the study, not {limit!r}."
        )


def _limits(
    study: Study,
    quantity: str,
    unit: str,
    limit: float | None,
    places: Mapping[str, FamilyPlaces],
    seed: int,
) -> tuple[list[float], str]:
    """Give the limits and say where they come from."""
    if limit is not None:
        _check_limit(limit)
        return [limit], f"the limit asked for, {quantity_text(limit, unit=unit)}"
    key = LEAST_OF.get(quantity)
    stated: dict[float, list[str]] = {}
    for name, duty in (stated_duties(study.settings) if key else {}).items():
        least = getattr(duty, str(key))
        if least is not None:
            at = least * factor(duty.unit or unit, unit)
            stated.setdefault(at, []).append(f"{duty.label or name}, {duty.note}")
    if stated:
        limits = sorted(stated)[:MOST_LIMITS]
        said = "; ".join(
            f"{quantity_text(at, unit=unit)} ({'; '.join(stated[at])})" for at in limits
        )
        return limits, f"those of the duties the study states: {said}"
    if not places:
        return [], "none"
    most = max(places.values(), key=lambda of: of.blocks)
    thin = thin_family(
        most, [], confidence=study.settings.confidence, seed=seed, kept=_kept(study, most)
    )
    at = float(thin.predicted.quantile(1 / ONE_IN))
    at = round(at, max(0, -math.floor(math.log10(most.step))))  # as many decimals as are read
    return [at], (
        f"none stated; {quantity_text(at, unit=unit, step=most.step)} is the value that one block "
        f"in {ONE_IN} of the family read most falls below. A limit of your own is set by “limit”"
    )


def _kept(study: Study, of: FamilyPlaces) -> Window:
    """Give the range outside of which no reading of a family was kept."""
    cells = study.records.cells
    mine = cells[(cells["quantity"] == of.quantity) & (cells["family"] == of.family)]
    stated = truncations_of(study.settings.truncations, of.quantity, of.family)
    return kept_everywhere(stated, mine["gauge"].unique().tolist(), of.unit)


def _asked(
    study: Study,
    quantity: str,
    places: Mapping[str, FamilyPlaces],
    labels: Mapping[str, str],
    limits: str,
) -> Answer:
    said = [("Quantity", quantity_label(study.settings, quantity)), ("Limits", f"{limits}.")]
    for family, of in places.items():
        low, high = float(of.table["value"].min()), float(of.table["value"].max())
        said.append(
            (
                labels[family],
                f"{counted(of.blocks, 'block')}, {counted(of.bores, 'bore')} of "
                f"{counted(len(of.squares.pattern), 'place')} each, places read from "
                f"{interval_text(low, high, of.unit, uncertainty=0, step=of.step)}."
                f"{as_kept_words(truncations_of(study.settings.truncations, quantity, family))}",
            )
        )
    return Answer(paragraphs=tuple(said))
