"""What the distribution of a family means for a builder, and what could not be answered."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from workbench.article.answer import Answer
from workbench.article.kept_words import LEFT
from workbench.article.numbers import percent
from workbench.article.shape_tables import Labels, Shapes, label_of, span_words
from workbench.article.text import clean
from workbench.castings.family_limits import COVERAGE, WHAT
from workbench.inference.estimates import Estimate

if TYPE_CHECKING:
    from workbench.castings.family_shape import FamilyShape
    from workbench.inference.distributions.goodness import Goodness

NEXT = {WHAT["block"]: "The mean of the next block", WHAT["place"]: "A single place of it"}


def shape_meaning(shapes: Shapes, labels: Labels, confidence: float) -> Answer:
    """Say for each family what its distribution means for a builder."""
    return Answer(
        paragraphs=tuple(
            (labels[family], _meaning(shape, confidence)) for family, shape in shapes.items()
        )
    )


def shape_refusals(shapes: Shapes, refused: Mapping[str, str], labels: Labels) -> Answer | None:
    """Say what could not be answered, of which family, and what would be enough."""
    said = [
        (labels[family], f"{what}: {why}")
        for family, shape in shapes.items()
        for what, why in (
            *shape.refused.items(),
            *(
                (f"test of the {label_of(shape, n)}", t.why)
                for n, t in shape.tested.items()
                if t.why
            ),
        )
    ]
    said += [(labels.get(family, family), why) for family, why in refused.items()]
    return Answer(paragraphs=tuple(said)) if said else None


def _meaning(shape: FamilyShape, confidence: float) -> str:
    of = shape.readings
    said = [_fits_words(shape)] if shape.comparison is not None else []
    nested = [limit for limit in shape.limits if limit.how == "nested model"]
    for limit in nested:
        if limit.what in NEXT and isinstance(limit.following, Estimate):
            span = span_words(limit.following, of.unit, of.step)
            said.append(f"{NEXT[limit.what]} will lie in {span} ({percent(confidence)}).")
    if nested and not isinstance(nested[-1].above, str):
        what = "places" if nested[-1].what == WHAT["place"] else "values"
        said.append(
            f"{percent(COVERAGE)} of all such {what} lie "
            f"{span_words(nested[-1].above, of.unit, of.step)}, with {percent(confidence)} "
            "confidence."
        )
    if shape.search is not None and shape.search.suspects:
        names = ", ".join(clean(shape.blocks.index[at], 40) for at in shape.search.suspects)
        said.append(f"Look again at {names}: far from the others.")
    if shape.peaks is not None and shape.peaks.p_value < 1 - confidence:
        said.append("Its blocks are not one normal population: ask for two pours or core boxes.")
    if nested and of.why:
        said.append(
            f"What is said of the next block takes no account of what was never kept: {LEFT}."
        )
    return " ".join(said) or "Nothing can be said of its shape; see below."


def _fits_words(shape: FamilyShape) -> str:
    good: list[str] = []
    bad: list[str] = []
    for name, tested in shape.tested.items():
        deciding: Goodness | None = tested.deciding
        if deciding is not None:
            rejected = deciding.test("anderson-darling").p_value < 0.05
            (bad if rejected else good).append(label_of(shape, name))
    if not good and not bad:
        return "Whether a shape fits cannot be told from so few blocks."
    words = f"A {' or a '.join(good)} may describe its readings. " if good else ""
    return words + (f"A {' and a '.join(bad)} does not. " if bad else "")
