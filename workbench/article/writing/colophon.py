"""What a hostile reader needs: the data, the versions, the digests, the seed, the references."""

from __future__ import annotations

from workbench.article.writing.document import (
    Bibliography,
    Block,
    Heading,
    Paragraph,
    TableBlock,
    cited,
)
from workbench.article.writing.material import SETTINGS, Material
from workbench.article.writing.number import Origin
from workbench.article.writing.phrase import Code, say

BUNDLED = (
    "All input files and the executed notebooks are in {bundle}, with the versions of every "
    "library and a text on how to run them again."
)
NOT_BUNDLED = (
    "The input files are named below, each with its digest; whoever has them can run everything "
    "again."
)


def data_statement(material: Material, *, bundle: bool) -> list[Block]:
    """Say where the data are and how each number can be traced."""
    return [
        Heading(level=2, text=("Data",), anchor="data"),
        Paragraph(
            text=say(
                "{inputs} {numbers} lists every number of this text with its full value, its unit "
                "and interval, how it was rounded, the claim, the notebook and the cell it comes "
                "from, and the input files behind it.",
                inputs=say(BUNDLED, bundle=Code("bundle.zip")) if bundle else NOT_BUNDLED,
                numbers=Code("numbers.json"),
            )
        ),
        TableBlock(
            name="inputs",
            caption=("The input files",),
            columns=(("File",), (Code("SHA-256"),)),
            rows=tuple(
                ((Code(name),), (Code(digest),)) for name, digest in material.study.digests.items()
            ),
        ),
    ]


def made_with(material: Material) -> list[Block]:
    """Give the versions and the seed."""
    seed = material.register.stated("seed", material.judgement.seed, Origin(inputs=(SETTINGS,)))
    return [
        Heading(level=2, text=("Versions and seed",), anchor="versions"),
        Paragraph(
            text=say(
                "Random arrangements were drawn from the seed {seed}. The same inputs, versions "
                "and seed give the same numbers.",
                seed=seed,
            )
        ),
        TableBlock(
            name="versions",
            caption=("Versions",),
            columns=(("Program or library",), ("Version",)),
            rows=tuple(
                ((Code(name),), (Code(version),)) for name, version in material.versions.items()
            ),
        ),
    ]


def references(blocks: list[Block]) -> list[Block]:
    """List the works the blocks refer to."""
    return [
        Heading(level=2, text=("References",), anchor="references"),
        Bibliography(references=cited(tuple(blocks))),
    ]
