"""The end of the write-up: what stays open, what it means for a builder, threats, cautions."""

from __future__ import annotations

from workbench.article.names import family_order
from workbench.article.writing.document import Block, Bullets, Heading, Paragraph, TableBlock
from workbench.article.writing.material import SETTINGS, Material
from workbench.article.writing.number import Origin
from workbench.article.writing.phrase import Phrase, bare, joined, listed, say
from workbench.article.writing.sentences import line
from workbench.article.writing.verdict_numbers import VerdictNumbers
from workbench.castings.cautions import CAUTIONS


def stays_open(material: Material) -> list[Block]:
    """List the claims the readings do not decide, with what would settle each."""
    items = tuple(
        joined(
            [
                *of.quoted(of.verdict.claim, "id"),
                ". ",
                *line(of),
                " What would settle it: ",
                *of.quoted(of.verdict.next_step, "next step"),
            ]
        )
        for of in material.verdicts
        if of.verdict.outcome == "unresolved"
    )
    return [
        Heading(level=2, text=("What stays open",), anchor="open"),
        *(
            [Bullets(items=items)]
            if items
            else [Paragraph(text=("No claim of the ledger stayed open.",))]
        ),
    ]


def for_a_builder(material: Material) -> list[Block]:
    """Say what the verdicts on each family mean for somebody who buys one block."""
    families = family_order(
        material.study.settings,
        (verdict.candidate for verdict in material.judgement.verdicts if verdict.candidate),
    )
    return [
        Heading(level=2, text=("What it means for a builder",), anchor="builder"),
        Paragraph(
            text=(
                "These are findings on families. Your block is one block: it can lie well below "
                "the mean of a family with the thicker walls, and an average does not say whether "
                "it bears your power. Have the block in hand measured.",
            )
        ),
        *([Bullets(items=tuple(of_family(material, f) for f in families))] if families else []),
    ]


def of_family(material: Material, family: str) -> Phrase:
    """Say what is supported, contradicted and open of one family, and what it costs."""
    register = material.register
    mine = [of for of in material.verdicts if of.verdict.candidate == family]
    parts: list[Phrase] = []
    for outcome in ("supported", "contradicted", "unresolved"):
        named = [of for of in mine if of.verdict.outcome == outcome]
        if named:
            said = outcome if parts else outcome.capitalize()
            parts.append(joined([f"{said}: ", *listed(map(claim_words, named), ", ")]))
    label = register.quoted(
        material.study.settings.family_label(family), f"family {family}", material.stated
    )
    return joined([*label, " blocks", *price(material, family), ". ", *listed(parts), "."])


def claim_words(of: VerdictNumbers) -> Phrase:
    """Name a claim by its id."""
    return of.quoted(of.verdict.claim, "id")


def price(material: Material, family: str) -> Phrase:
    """Give the price the study states of a family, with its range where it states one."""
    stated = material.study.settings.families.get(family)
    if stated is None or stated.price is None:
        return ()
    amount, origin = stated.price, Origin(inputs=(SETTINGS,))
    currency = amount.currency or stated.currency or ""
    place = f"family {family}"
    register = material.register
    likely = register.stated(f"{place}.price", amount.likely, origin, unit=currency)
    if amount.low is None or amount.high is None:
        return say(" (price stated: {likely})", likely=likely)
    return say(
        " (price stated: {likely}, from {low} to {high})",
        likely=likely,
        low=bare(register.stated(f"{place}.lowest price", amount.low, origin, unit=currency)),
        high=register.stated(f"{place}.highest price", amount.high, origin, unit=currency),
    )


def threats(material: Material) -> list[Block]:
    """List every threat once, with the claims it bears on, and the limits of the whole."""
    found: dict[str, list[VerdictNumbers]] = {}
    for of in material.verdicts:
        for code in dict.fromkeys(threat.code for threat in of.verdict.warnings):
            found.setdefault(code, []).append(of)
    rows = tuple(
        (
            (code.replace("_", " "),),
            of_first(bearing[0], code),
            listed(map(claim_words, bearing), ", "),
            say(
                "{n}",
                n=bare(
                    material.register.count(
                        f"threat {code}", len(bearing), "claims", bearing[0].origin
                    )
                ),
            ),
        )
        for code, bearing in found.items()
    )
    table = TableBlock(
        name="threats",
        caption=("Threats found in the records, and the claims they bear on",),
        columns=(("Threat",), ("What it means, at the first claim",), ("Claims",), ("How many",)),
        rows=rows,
        numeric=(3,),
    )
    return [
        Heading(level=2, text=("Threats and limits",), anchor="threats"),
        Paragraph(
            text=(
                "The findings are comparisons of blocks that somebody chose to measure. They are "
                "associations: age, use, wear, machining and the pick of the survivors differ "
                "between families too, and none of that is taken out. Where a family is known by "
                "few blocks, these stand for all of it only as far as they are a fair draw.",
            )
        ),
        *([table] if rows else []),
    ]


def of_first(of: VerdictNumbers, code: str) -> Phrase:
    """Give the words of a threat at the first claim it bears on."""
    text = next(threat.text for threat in of.verdict.warnings if threat.code == code)
    return of.quoted(text, "threats")


def cautions() -> list[Block]:
    """Give the cautions."""
    return [
        Heading(level=2, text=("Cautions",), anchor="cautions"),
        *(Paragraph(text=(caution,), caution=True) for caution in CAUTIONS),
    ]
