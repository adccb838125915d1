"""What a draft is held against: the numbers of a study, and which claims a sentence is about."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbench.article.writing.closing import for_a_builder, stays_open, threats
from workbench.article.writing.family_means import family_means
from workbench.article.writing.material import gathered
from workbench.article.writing.measured import measured
from workbench.article.writing.number import Number
from workbench.article.writing.opening import claimed, in_short
from workbench.article.writing.phrase import plain
from workbench.article.writing.reporting import reporting
from workbench.article.writing.sentences import line, paragraph
from workbench.article.writing.verdict_numbers import VerdictNumbers

if TYPE_CHECKING:
    from workbench.claims.judgement import Judgement
    from workbench.study import Study

ALSO = {
    "hardness": ("hard", "soft"),
    "mass": ("mass", "weigh", "weight", "heav", "light"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """The verdicts of a study and all its numbers.

    `words` gives the words that name each quantity, `labels` the names of each family, and
    `single` the families of which one block was measured.
    """

    verdicts: tuple[VerdictNumbers, ...]
    numbers: tuple[Number, ...]
    words: dict[str, tuple[str, ...]]
    labels: dict[str, tuple[str, ...]]
    single: frozenset[str]

    def about(self, text: str, around: str = "") -> tuple[VerdictNumbers, ...]:
        """Give the verdicts a sentence is about; `around` is what stands before it.

        A claim is meant where its id stands, or its quantity and its candidate family with no
        family but its reference beside it.
        """
        named = tuple(of for of in self.verdicts if mentions(text, of.verdict.claim))
        if named:
            return named
        families = self.families(text) or self.families(around)
        quantities = self.quantities(text) or self.quantities(around)
        return tuple(
            of
            for of in self.verdicts
            if of.verdict.quantity in quantities
            and of.verdict.candidate in families
            and (of.verdict.reference in families or len(families) == 1)
        )

    def families(self, text: str) -> frozenset[str]:
        """Give the families a text names."""
        return frozenset(
            family
            for family, labels in self.labels.items()
            if any(mentions(text, label) for label in labels)
        )

    def quantities(self, text: str) -> frozenset[str]:
        """Give the quantities a text names."""
        for label in sorted((n for names in self.labels.values() for n in names), key=len)[::-1]:
            text = re.sub(
                pattern_of(label), " ", text, flags=re.IGNORECASE
            )  # “Deep deck” is no deck
        return frozenset(
            quantity
            for quantity, words in self.words.items()
            if any(re.search(rf"(?<!\w){re.escape(word)}", text, re.IGNORECASE) for word in words)
        )

    def direction(self, claim: str) -> str:
        """Give the direction of a claim; "" where there is none."""
        return next((of.verdict.direction or "" for of in self.verdicts if of.place == claim), "")


def mentions(text: str, name: str) -> bool:
    """Tell whether a name stands in a text as a whole word; a hyphen may be a space."""
    return bool(name) and re.search(pattern_of(name), text, re.IGNORECASE) is not None


def pattern_of(name: str) -> str:
    """Give the pattern of a name as a whole word; hyphens and spaces stand for each other."""
    words = (re.escape(word) for word in re.split(r"[- ]+", name) if word)
    return rf"(?<![\w-]){'[- ]'.join(words) or '(?!)'}(?!\w)"


def facts_of(study: Study, judgement: Judgement) -> Facts:
    """Gather what a draft on a study is held against: the numbers of its write-up."""
    material = gathered(study, judgement, {})
    for part in (in_short, claimed, measured, family_means, stays_open, for_a_builder, threats):
        part(material)
    for of in material.verdicts:
        for phrase in (paragraph(of), reporting(of, len(material.verdicts)), line(of)):
            plain(phrase)
        of.quoted(of.verdict.next_step, "next step")
        for threat in of.verdict.warnings:
            of.quoted(threat.text, "threats")
    settings, blocks = study.settings, study.records.blocks
    counts = blocks.groupby("family")["block"].nunique()
    single = {str(family) for family, count in counts.items() if count == 1}
    for verdict in judgement.verdicts:
        for family, count in (
            (verdict.candidate, verdict.candidate_blocks),
            (verdict.reference, verdict.reference_blocks),
        ):
            if count == 1:
                single.add(family)
    return Facts(
        verdicts=material.verdicts,
        numbers=material.register.numbers,
        words={
            verdict.quantity: words_for(
                verdict.quantity, settings.quantities[verdict.quantity].label
            )
            for verdict in judgement.verdicts
            if verdict.quantity in settings.quantities
        },
        labels={
            str(family): tuple({str(family), settings.family_label(str(family))})
            for family in (*settings.families, *counts.index)
        },
        single=frozenset(single),
    )


def words_for(quantity: str, label: str) -> tuple[str, ...]:
    """Give the beginnings of the words that name a quantity."""
    first = label.split()[0].lower() if label.split() else quantity
    return (first, *ALSO.get(quantity, ()))
