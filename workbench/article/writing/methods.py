"""How it was done, with the works each method rests on."""

from __future__ import annotations

from workbench.article.writing.document import Block, Bullets, Heading, Paragraph
from workbench.article.writing.material import Material
from workbench.article.writing.phrase import Cite, Code, Phrase, joined, listed, say
from workbench.article.writing.references import WORKS, Reference, works_of


def methods(material: Material) -> list[Block]:
    """Describe the methods that were used."""
    return [
        Heading(level=2, text=("Methods",), anchor="methods"),
        Paragraph(text=deciding(material)),
        Bullets(items=tuple(named_methods(material))),
        *(Paragraph(text=text) for text in (*sameness(material), many(), reported(), rounded())),
        Paragraph(text=software(material)),
    ]


def deciding(material: Material) -> Phrase:
    """Say how an outcome is reached."""
    return say(
        "A claim is supported when the whole interval of its estimate at {confidence} lies where "
        "the claim puts it, contradicted when the whole interval lies where it does not, and "
        "unresolved otherwise. A wide interval is no evidence that there is no difference "
        "({altman}). The confidence, the margins and the claims are those the study states.",
        confidence=material.verdicts[0].confidence,
        altman=Cite(WORKS["altman1995"]),
    )


def named_methods(material: Material) -> list[Phrase]:
    """Name every method a verdict or a check used, with its works."""
    names: dict[str, str] = {}
    for of in material.verdicts:
        if of.verdict.method:
            names.setdefault(of.verdict.method, "decides")
        for check in of.verdict.checks:
            names.setdefault(check.name, "stands beside as a check")
    result = []
    for name, role in names.items():
        quoted = material.register.quoted(name, "methods", material.readings)
        works = works_of(name)
        parts = joined([*quoted, f": {role}"])
        result.append(joined([*parts, " (", *cites(works), ")."]) if works else (*parts, "."))
    return [joined(phrase) for phrase in result]


def cites(works: tuple[Reference, ...]) -> Phrase:
    """Refer to several works."""
    return listed(((Cite(work),) for work in works), "; ")


def sameness(material: Material) -> list[Phrase]:
    """Say how sameness is judged, where a claim asks for it."""
    if all(of.verdict.direction != "same" for of in material.verdicts):
        return []
    return [
        say(
            "A claim of sameness is supported only when two one-sided tests against its margins "
            "both hold ({work}); a test that needs no margin never supports sameness.",
            work=Cite(WORKS["schuirmann1987"]),
        )
    ]


def many() -> Phrase:
    """Say how many claims are held together."""
    return say(
        "Each claim stands on its own evidence. Whether it would stand had all of them been asked "
        "at once is reckoned by Holm's method over the whole ledger ({work}).",
        work=Cite(WORKS["holm1979"]),
    )


def reported() -> Phrase:
    """Name the guideline the reporting form follows, and how uncertainty is taken."""
    return say(
        "The reviewers' form follows the SAMPL guidelines ({lang}). Uncertainties of measuring are "
        "combined as the {gum} does.",
        lang=Cite(WORKS["lang2015"]),
        gum=Cite(WORKS["jcgm100"]),
    )


def rounded() -> Phrase:
    """Give the one rule of rounding."""
    return say(
        "Numbers are rounded by one rule: two significant digits of the standard uncertainty set "
        "the digits ({gum}), never finer than a tenth of the gauge's step for a mean; halves go to "
        "the even digit ({iso}). The full values are in {file}.",
        gum=Cite(WORKS["jcgm100"]),
        iso=Cite(WORKS["iso80000"]),
        file=Code("numbers.json"),
    )


def software(material: Material) -> Phrase:
    """Name the program and what it ran on."""
    versions = material.versions
    named = [(f"{name} ", Code(version)) for name, version in versions.items()]
    return joined(["Computed with ", *listed(named, ", "), "."])
