"""What the notebook of fits shows, section by section."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbench.article.answer import Answer
from workbench.article.asked import families_asked, quantity_asked
from workbench.article.figures.effects_plot import effects_plot
from workbench.article.figures.fitted_curves import fitted_curves
from workbench.article.figures.tail_plot import tail_plot
from workbench.article.gathering import unit_shown
from workbench.article.kept_words import kept_words
from workbench.article.names import quantity_label
from workbench.article.shape_tables import (
    fits_table,
    goodness_table,
    limits_table,
    normality_table,
    oddities_table,
)
from workbench.article.shape_words import shape_meaning, shape_refusals
from workbench.article.text import counted
from workbench.castings.family_places import family_places
from workbench.castings.family_readings import family_readings
from workbench.castings.family_shape import FamilyShape, family_shape
from workbench.errors import Refusal

if TYPE_CHECKING:
    from workbench.article.picture import Picture
    from workbench.article.tables import Table
    from workbench.study import Study

NOTHING = "Nothing to show"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapesFound:
    """The shapes of the families asked for, and what was refused of them."""

    label: str
    shapes: Mapping[str, FamilyShape]
    refused: Mapping[str, str]
    labels: Mapping[str, str]
    confidence: float
    asked: Answer


def shapes_of(study: Study, *, quantity: str, family: str, seed: int) -> ShapesFound:
    """Fit the readings of a quantity; what cannot be answered is kept as a sentence.

    Parameters
    ----------
    study
        The study.
    quantity
        Its name; "" for the walls, or the quantity read most where there are none.
    family
        One family, of which every distribution is then tested; "" for all families.
    seed
        Of what is drawn.
    """
    try:
        return _fitted(study, quantity, family, seed)
    except Refusal as refusal:
        return ShapesFound(
            label=quantity,
            shapes={},
            refused={},
            labels={},
            confidence=study.settings.confidence,
            asked=Answer(paragraphs=((NOTHING, str(refusal)),)),
        )


def fits_shown(of: ShapesFound, footer: str) -> Iterator[Table | Picture]:
    """Give the table of fits of each family, and the curves over the histograms."""
    fitted = {name: shape for name, shape in of.shapes.items() if shape.comparison is not None}
    for name, shape in fitted.items():
        yield fits_table(shape, of.labels[name], of.confidence)
    if fitted:
        yield fitted_curves(fitted, of.labels, of.label, footer=footer)


def goodness_shown(of: ShapesFound, footer: str) -> Iterator[Table | Picture]:
    """Give the tests of fit and the thin tails."""
    if any(shape.tested for shape in of.shapes.values()):
        yield goodness_table(of.shapes, of.labels)
        yield tail_plot(of.shapes, of.labels, of.label, footer=footer)


def effects_shown(of: ShapesFound, footer: str) -> Iterator[Table | Picture]:
    """Give the normality of effects, odd blocks and the check for two populations."""
    if any(shape.normality for shape in of.shapes.values()):
        yield normality_table(of.shapes, of.labels)
        yield effects_plot(of.shapes, of.labels, of.label, footer=footer)
    of_blocks = {name: shape for name, shape in of.shapes.items() if len(shape.blocks)}
    if of_blocks:
        yield oddities_table(of_blocks, of.labels, of.confidence)


def limits_shown(of: ShapesFound) -> Iterator[Table]:
    """Give the limits for the next block of each family."""
    for name, shape in of.shapes.items():
        if shape.limits:
            yield limits_table(shape, of.labels[name], of.confidence)


def meaning_shown(of: ShapesFound) -> Iterator[Answer]:
    """Give what it means for a builder, and what could not be answered."""
    if of.shapes:
        yield shape_meaning(of.shapes, of.labels, of.confidence)
    missing = shape_refusals(of.shapes, of.refused, of.labels)
    if missing is not None:
        yield missing


def _fitted(study: Study, quantity: str, family: str, seed: int) -> ShapesFound:
    settings, records = study.settings, study.records
    name = quantity_asked(study, quantity)
    unit = unit_shown(records, settings, name, study.calibrations)
    readings = family_readings(records, settings, study.calibrations, name, unit)
    places, refused = family_places(records.cells, settings, study.calibrations, name, unit)
    chosen = families_asked(study, name, [family] if family else [], readings)
    labels = settings.family_labels(records.blocks["family"])
    shapes = {
        one: family_shape(
            readings[one],
            places.get(one),
            confidence=settings.confidence,
            seed=seed,
            whole=bool(family),
        )
        for one in chosen
    }
    said = [("Quantity", f"{quantity_label(settings, name)}, in {unit or 'no unit'}")]
    said += [
        (
            labels[one],
            f"{counted(of.size, 'reading')} of {counted(of.blocks, 'block')} at places chosen "
            "before looking, with good contact"
            + (
                f"; {counted(of.censored, 'reading')} known only from above."
                if of.censored
                else "."
            )
            + kept_words(of),
        )
        for one, of in ((one, readings[one]) for one in chosen)
    ]
    return ShapesFound(
        label=quantity_label(settings, name),
        shapes=shapes,
        refused={one: refused[one] for one in chosen if one in refused},
        labels=labels,
        confidence=settings.confidence,
        asked=Answer(paragraphs=tuple(said)),
    )
