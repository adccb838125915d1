"""What the notebook of core shift and fitness by family shows, section by section."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

from workbench.article.answer import Answer
from workbench.article.family_fitness_table import family_fitness_table
from workbench.article.figures.family_shifts import family_shifts
from workbench.article.names import family_order
from workbench.article.shift_tables import comparison_table, family_table, scatter_table
from workbench.castings.answers import Answers
from workbench.castings.bores.shift_of_family import compare_shifts, shift_of_family
from workbench.errors import Refusal
from workbench.records.faults import FaultsError

if TYPE_CHECKING:
    from workbench.article.picture import Picture
    from workbench.article.tables import Table
    from workbench.castings.inspection import Inspection
    from workbench.study import Study

    Shown = Table | Picture | Answer


def shifts_shown(study: Study, inspection: Inspection, footer: str) -> Iterator[Shown]:
    """Give the shifts of the families as a figure and tables; in words where there is none."""
    settings, confidence = study.settings, study.settings.confidence
    try:
        shifts = inspection.core_shifts()
    except Refusal as refusal:
        yield Answer(paragraphs=(("No core shift", str(refusal)),))
        return
    answers = Answers()
    names = family_order(settings, inspection.families.values())
    asked = {name: answers.of(name, partial(shift_of_family, shifts, name)) for name in names}
    found = [one for one in asked.values() if one is not None]
    if found:
        labels = settings.family_labels(study.records.blocks["family"])
        yield family_shifts(found, settings, confidence=confidence, labels=labels, footer=footer)
        yield family_table(found, settings, confidence)
        yield scatter_table(found, settings)
    if len(found) > 1:
        first = found[0].family
        compared = [compare_shifts(shifts, one.family, first) for one in found[1:]]
        yield comparison_table(compared, settings, confidence)
    if answers.refused:
        yield Answer(
            paragraphs=tuple(
                (settings.family_label(name), why) for name, why in answers.refused.items()
            )
        )


def fitness_by_family_shown(study: Study, seed: int) -> Iterator[Shown]:
    """Give the share of each family that is fit for each duty."""
    try:
        judged = study.fitness(seed=seed)
    except FaultsError as error:
        yield Answer(paragraphs=(("No duty is answered", str(error)),))
        return
    found = [
        one for family in family_order(study.settings, judged) for one in judged[family].values()
    ]
    yield family_fitness_table(found, study.settings, study.settings.confidence)
