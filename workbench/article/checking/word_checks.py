"""Words of a draft that claim more than the study shows."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence

from workbench.article.checking.draft import Sentence
from workbench.article.checking.facts import Facts
from workbench.article.checking.finding import Finding
from workbench.article.checking.mentioned import is_printed, mentioned, rounds_to, same_kind
from workbench.article.checking.overreach import COMPARED
from workbench.article.writing.phrase import plain
from workbench.article.writing.sentences import line
from workbench.article.writing.verdict_numbers import VerdictNumbers

PROOF = re.compile(
    r"\b(prov(?:e|es|ed|en|ing)|proofs?|demonstrat\w+|establish(?:es|ed)?|confirm(?:s|ed)?|"
    r"definite(?:ly)?|undoubtedly|undeniabl[ey]|certain(?:ly)?|guarantee[sd]?|beyond doubt|"
    r"conclusive(?:ly)?|no question)\b",
    re.IGNORECASE,
)
CAUSE = re.compile(
    r"\b(because of|due to|caus(?:e|es|ed|ing)|leads? to|led to|thanks to|results? in|"
    r"resulted in|owing to|responsible for|makes (?:it|them|the))\b",
    re.IGNORECASE,
)
SAMENESS = re.compile(
    r"\b(no (?:\w+ )?difference|identical(?:ly)?|the same|equal(?:s|ly)?|(?:do|does|did) not "
    r"differ|indistinguishable)\b",
    re.IGNORECASE,
)
HEDGE = re.compile(
    r"\b(not?|nor|never|nothing|neither|cannot|whether|may|might|could|would|claim\w*|said|says?|"
    r"heard|unresolved|open|undecided|contradict\w*|refut\w*|contrary|if|unsettled|unknown|"
    r"doubt\w*|too few)\b|n't\b|\?",
    re.IGNORECASE,
)
NEGATION = re.compile(
    r"\b(not|no|nor|never|nothing|neither|cannot|without|nobody)\b|n't\b", re.IGNORECASE
)
SIGNIFICANT = re.compile(r"\b(?:in)?significan(?:t|tly|ce)\b", re.IGNORECASE)
ONE = re.compile(
    r"\b(?:one|single|this|that|the (?:one|only|single)) (?:\w+ ){0,2}block\b|\bblock "
    r"(?:measured|in hand)\b",
    re.IGNORECASE,
)
Found = Callable[[str, str, str], Finding]
REACH = 3  # words before a word within which a negation belongs to it


def check_words(
    sentence: Sentence, facts: Facts, about: Sequence[VerdictNumbers]
) -> Iterator[Finding]:
    """Find the words of a sentence that claim more than its claims' verdicts do."""

    def found(code: str, text: str, suggestion: str) -> Finding:
        return Finding(
            line=sentence.line,
            code=code,
            excerpt=sentence.text,
            text=text,
            suggestion=suggestion,
        )

    own = without_claims(sentence.own, facts)
    proof, cause = affirmed(PROOF, own), affirmed(CAUSE, own) or because(own, about)
    if proof:
        yield found(
            "proof_word",
            f"“{proof}”: readings of some blocks support or contradict; they do not prove.",
            "Write “support”, “contradict” or “leave open”.",
        )
    if cause:
        yield found(
            "causal_word",
            f"“{cause}”: the study compares blocks that were found; it does not show a cause.",
            "Say that the two go together, or name the source that shows the cause.",
        )
    if (SIGNIFICANT.search(own) or tested(own)) and not effect_in(sentence, facts):
        yield found(
            "significant_without_effect",
            "The sentence tells a test and no effect with its unit.",
            told(about) or "Give the difference with its unit and interval first.",
        )
    yield from one_block(own, facts, about, found)
    yield from outcomes(own, said_of(own, facts, about), found)


def because(own: str, about: Sequence[VerdictNumbers]) -> str:
    """Give the word that gives a difference its cause; "" where none does."""
    compared, word = COMPARED.search(own), re.search(r"\bbecause\b", own, re.IGNORECASE)
    if not about or compared is None or word is None or HEDGE.search(own):
        return ""
    return word[0]


def said_of(own: str, facts: Facts, about: Sequence[VerdictNumbers]) -> Sequence[VerdictNumbers]:
    """Keep the claims a comparison is on: those of what stands before its word, where any are."""
    compared = COMPARED.search(own)
    before = facts.about(own[: compared.start()]) if compared else ()
    return tuple(of for of in about if of in before) or about


def tested(own: str) -> bool:
    """Tell whether words stand about a p-value; one alone is the cell of a table."""
    p = re.search(r"\bp\s*[<>=]\s*[\d.]+", own)
    return p is not None and own.replace(p[0], "").strip(" .|") != ""


def without_claims(own: str, facts: Facts) -> str:
    """Take out the names of claims and what they state, which are no words of the writer's."""
    for of in facts.verdicts:
        for text in (of.verdict.statement, of.verdict.claim):
            own = own.replace(text, " ") if text else own
    return own


def affirmed(pattern: re.Pattern[str], text: str) -> str:
    """Give the first word of a pattern that no negation stands before; "" where there is none."""
    for match in pattern.finditer(text):
        before = " ".join(text[: match.start()].split()[-REACH:])
        if not NEGATION.search(before):
            return match[0]
    return ""


def effect_in(sentence: Sentence, facts: Facts) -> bool:
    """Tell whether a sentence gives an effect of the study in its unit."""
    sizes = [number for number in facts.numbers if number.kind == "estimate"]
    return any(
        same_kind(mention, number) and (is_printed(mention, number) or rounds_to(mention, number))
        for mention in mentioned(sentence.text, {number.unit for number in sizes})
        for number in sizes
    )


def one_block(
    own: str, facts: Facts, about: Sequence[VerdictNumbers], found: Found
) -> Iterator[Finding]:
    """Find what is said of a family of which one block is known."""
    families = facts.families(own) & facts.single
    if not families or not (about or facts.quantities(own)) or ONE.search(own):
        return
    labels = ", ".join(max(facts.labels[family], key=len) for family in sorted(families))
    yield found(
        "one_block_family",
        f"One block alone was measured of: {labels}. It does not speak for its family.",
        f"Write “the one {labels} block measured”.",
    )


def outcomes(own: str, about: Sequence[VerdictNumbers], found: Found) -> Iterator[Finding]:
    """Find sentences at odds with the outcome of every claim they are about."""
    if not about:
        return
    outcome = {of.verdict.outcome for of in about}
    same = [
        of for of in about if of.verdict.direction == "same" and of.verdict.outcome == "supported"
    ]
    if affirmed_sameness(own) and not same:
        yield found(
            "no_difference",
            "Nothing here supports sameness: an interval that holds no difference may hold a "
            "large one too.",
            told(about),
        )
    elif COMPARED.search(own) and not HEDGE.search(own):
        if outcome == {"unresolved"}:
            yield found(
                "open_as_settled", "The study leaves this open, and it is told as settled.",
                told(about),
            )  # fmt: skip
        elif outcome == {"contradicted"}:
            yield found("contradicted_as_true", "The study contradicts this claim.", told(about))


def affirmed_sameness(own: str) -> bool:
    """Tell whether sameness is said; “no difference” is an affirmation of it."""
    return SAMENESS.search(own) is not None and not re.search(
        r"\b(whether|open|claim\w*|unresolved)\b", own, re.IGNORECASE
    )


def told(about: Sequence[VerdictNumbers]) -> str:
    """Give the first verdict in a line, to be printed instead."""
    return f"Write: {plain(line(about[0]))}" if about else ""
