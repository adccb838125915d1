"""A verdict in plain English, at two of its three lengths: a line, and a paragraph.

The careful words are those of the verdict itself. Nothing here says “proves”, takes an open claim
for settled, or lets one block speak for its family.
"""

from __future__ import annotations

from workbench.article.writing.phrase import Phrase, bare, joined, listed, say
from workbench.article.writing.verdict_numbers import VerdictNumbers
from workbench.records.quantity_table import SHARE

OUTCOMES = {
    "supported": "Supported",
    "contradicted": "Contradicted",
    "unresolved": "Unresolved",
}


def line(of: VerdictNumbers) -> Phrase:
    """Give a verdict in one line: the outcome, the effect with its interval, the blocks."""
    verdict = of.verdict
    outcome = OUTCOMES[verdict.outcome]
    if verdict.figure != "mean" or verdict.unit == SHARE or of.size is None:
        found = of.quoted(first_sentence(verdict.sentence), "sentence")
        if of.size is None:
            return joined([f"{outcome}: ", *found])
        return joined([f"{outcome}: ", *without_stop(found), "; ", *measured(of), "."])
    return say(
        "{outcome}{claimed}: the mean {quantity} of {ours} is {size} {side} that of {others} "
        "({confidence} interval {interval}; {measured}).",
        outcome=outcome,
        claimed=say(" (claimed: {difference})", difference=difference_claimed(of)),
        quantity=of.quantity,
        ours=blocks(of, "ours"),
        size=of.size,
        side="above" if verdict.estimate >= 0 else "below",
        others=blocks(of, "others"),
        confidence=of.shown_confidence,
        interval=interval(of),
        measured=measured(of),
    )


def without_stop(found: Phrase) -> Phrase:
    """Take the full stop off the end of a sentence."""
    *before, last = found
    return (*before, last.removesuffix(".")) if isinstance(last, str) else tuple(found)


def measured(of: VerdictNumbers) -> Phrase:
    """Say how many blocks of each family were measured."""
    return say(
        "{n} {ours} and {m} {others} blocks measured{scope}",
        n=bare(of.candidate.blocks),
        ours=of.ours,
        m=bare(of.reference.blocks),
        others=of.others,
        scope=", and of these alone" if of.verdict.scope == "block" else "",
    )


def difference_claimed(of: VerdictNumbers) -> Phrase:
    """Say what difference the claim states; nothing where it could not be read."""
    direction = of.verdict.direction
    if direction is None or of.boundary is None or of.margin is None:
        return ()
    if direction in ("greater", "less"):
        side = "above" if direction == "greater" else "below"
        return say("{side} {m}", side=side, m=of.boundary)
    if not of.margin.value:
        return ("a difference either way",)
    return say(
        "{side} {m} either way", side="within" if direction == "same" else "beyond", m=of.margin
    )


def paragraph(of: VerdictNumbers) -> Phrase:
    """Give a verdict in a paragraph: what was claimed, what was found, how far it reaches."""
    verdict = of.verdict
    heard = verdict.heard_from
    parts = [
        say(
            "The claim, heard from {heard}: “{statement}” ",
            heard=of.quoted(heard, "heard from"),
            statement=of.quoted(verdict.statement, "statement"),
        )
        if heard
        else say("The claim: “{statement}” ", statement=of.quoted(verdict.statement, "statement")),
        of.quoted(verdict.sentence, "sentence"),
        *((" ", *extra) for extra in (reach(of), adjusted(of)) if extra),
    ]
    return joined(part for phrase in parts for part in phrase)


def reach(of: VerdictNumbers) -> Phrase:
    """Say for which blocks a verdict holds, and what one block cannot show."""
    verdict = of.verdict
    if not verdict.has_numbers:
        return ()
    single = [
        label
        for label, count in (
            (of.ours, verdict.candidate_blocks),
            (of.others, verdict.reference_blocks),
        )
        if count == 1
    ]
    if single and verdict.scope == "family":
        return say(
            "Of {families} one block alone was measured: it does not speak for its family, and "
            "how such blocks differ among themselves is taken from the other family.",
            families=listed(single, " and of "),
        )
    if verdict.outcome == "unresolved":
        return ("Open means open: neither the claim nor its opposite is shown.",)
    if verdict.scope == "family":
        return (
            "It reaches as far as the blocks measured are a fair draw of their families, and it "
            "is an association: nothing here says what made the difference.",
        )
    return ()


def adjusted(of: VerdictNumbers) -> Phrase:
    """Say whether a decided claim would stand had the whole ledger been asked at once."""
    stands = of.verdict.stands_after_adjustment
    if stands is None:
        return ()
    if stands:
        return ("It would stand had all claims of the ledger been asked at once (Holm).",)
    return (
        "Had all claims of the ledger been asked at once (Holm), it would not stand: print it as "
        "one of several questions asked.",
    )


def interval(of: VerdictNumbers) -> Phrase:
    """Give the interval shown, with its unit once; an open end is said in words."""
    low, high = of.low, of.high
    if low is not None and high is not None:
        return say("{low} to {high}", low=bare(low), high=high)
    if low is not None:
        return say("above {low}", low=low)
    if high is not None:
        return say("below {high}", high=high)
    return ("without limits",)


def blocks(of: VerdictNumbers, side: str) -> Phrase:
    """Name the blocks of a family; of a claim on those measured, these alone."""
    label = of.ours if side == "ours" else of.others
    measured = " measured" if of.verdict.scope == "block" else ""
    return joined([*label, f" blocks{measured}"])


def first_sentence(text: str) -> str:
    """Give the first sentence of a text."""
    first, dot, _ = text.partition(". ")
    return first + dot.strip()
