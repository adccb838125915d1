"""The mean of each family, quantity by quantity, with its interval over blocks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbench.article.gathering import samples_of
from workbench.article.sample import FINER
from workbench.article.writing.document import Block, TableBlock
from workbench.article.writing.material import Material
from workbench.article.writing.number import Kind, Number, Origin
from workbench.article.writing.phrase import Phrase, bare, say

if TYPE_CHECKING:
    from workbench.article.sample import Sample


def family_means(material: Material) -> list[Block]:
    """Give the table of the means; nothing where no reading may enter one."""
    study = material.study
    samples = samples_of(study)
    rows = tuple(row(material, sample, family) for sample in samples for family in sample.families)
    if not rows:
        return []
    return [
        TableBlock(
            name="family-means",
            caption=say(
                "Means of the families, with {confidence} intervals",
                confidence=material.verdicts[0].confidence,
            ),
            columns=tuple((n,) for n in ("Quantity", "Family", "Blocks", "Mean", "Interval")),
            rows=rows,
            numeric=(2,),
            note=(
                "Mean of the block means; Student's t over blocks. These are no comparisons: "
                "families may have been read at different places and with different gauges.",
            ),
        )
    ]


def row(material: Material, sample: Sample, family: str) -> tuple[Phrase, ...]:
    """Give the mean of one family."""
    register, mean = material.register, sample.means[family]
    place = f"{sample.quantity} of {family}"
    origin = Origin(notebook="intervals", cell="means", inputs=material.readings.inputs)
    ends = mean.interval
    uncertainty = (ends.high - ends.low) / 4 if ends is not None else 0.0

    def number(name: str, value: float, kind: Kind) -> Number:
        return register.measured(
            f"{place}.{name}",
            value,
            origin,
            unit=sample.unit,
            uncertainty=uncertainty,
            finest=sample.step / FINER,
            kind=kind,
            ends=None if ends is None or kind == "interval" else (ends.low, ends.high),
            confidence=None if ends is None or kind == "interval" else ends.confidence,
        )

    interval: Phrase = ("one block: none of its own",)
    if ends is not None:
        interval = say(
            "{low} to {high}",
            low=bare(number("low", ends.low, "interval")),
            high=bare(number("high", ends.high, "interval")),
        )
    return (
        register.quoted(sample.label, place, origin),
        register.quoted(sample.labels.get(family, family), place, origin),
        (bare(register.count(f"{place}.blocks", mean.blocks, "blocks", origin)),),
        say("{mean}", mean=number("mean", mean.mean, "estimate")),
        interval,
    )
