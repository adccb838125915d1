"""What the notebook of money shows, section by section."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbench.article.answer import Answer
from workbench.article.figures.break_even_map import break_even_map
from workbench.article.figures.cost_sensitivity import cost_sensitivity
from workbench.article.figures.duties import duties
from workbench.article.figures.looking_value import looking_value
from workbench.article.figures.usable_cost import usable_cost
from workbench.article.worth_tables import costs_table, duties_table, pairs_table, prices_table
from workbench.errors import Refusal
from workbench.records.faults import FaultsError
from workbench.worth.answer import FamilyAnswer, PairAnswer, WorthAnswer
from workbench.worth.sentences import (
    beside_sentence,
    comparison_sentence,
    cost_sentence,
    looking_sentence,
    sensitivity_sentence,
    share_sentence,
)

if TYPE_CHECKING:
    from workbench.article.picture import Picture
    from workbench.article.tables import Table
    from workbench.study import Study

NOTHING = "Nothing to show"


@dataclass(frozen=True, slots=True, kw_only=True)
class WorthFound:
    """The answer, or why there is none."""

    answer: WorthAnswer | None
    why_not: str = ""

    @property
    def asked(self) -> Answer:
        """What was asked, with what it rests on; or why it cannot be answered."""
        if self.answer is None:
            return Answer(paragraphs=((NOTHING, self.why_not),))
        answer = self.answer
        label, note = answer.judged.label(answer.duty), answer.judged.notes.get(answer.duty, "")
        dates = answer.prices.dates
        when = "no dates" if dates is None else f"from {dates[0]} to {dates[1]}"
        return Answer(
            paragraphs=(
                ("Duty", f"{label} ({note})"),
                ("Prices", f"in {answer.prices.currency}, {when}"),
                ("Simulation", f"{answer.trials} trials, seed {answer.seed}"),
            )
        )


def worth_of(study: Study, *, duty: str, seed: int) -> WorthFound:
    """Ask what blocks are worth for a duty, "" for the study's own; a refusal is kept."""
    try:
        return WorthFound(answer=study.worth(duty=duty or None, seed=seed))
    except (Refusal, FaultsError) as refusal:
        return WorthFound(answer=None, why_not=str(refusal))


def costs_shown(found: WorthFound, footer: str) -> Iterator[Table | Picture | Answer]:
    """Give what a usable block of each family costs."""
    answer = found.answer
    if answer is None:
        return
    yield Answer(paragraphs=tuple((f.label, _cost_words(f, answer)) for f in answer.families))
    yield costs_table(answer)
    yield from _drawn(lambda: usable_cost(answer, footer=footer))
    yield prices_table(answer)


def against_shown(found: WorthFound, footer: str) -> Iterator[Table | Picture | Answer]:
    """Give each family against the ordinary one, where it breaks even, and what moves that."""
    answer = found.answer
    if answer is None or not answer.pairs:
        return
    yield Answer(paragraphs=tuple(_pair_words(answer)))
    yield pairs_table(answer)
    yield from _drawn(lambda: break_even_map(answer, footer=footer))
    for pair in answer.pairs:
        if pair.sensitivity is not None:
            said = sensitivity_sentence(pair.sensitivity, answer.prices.currency)
            yield Answer(paragraphs=((_names(pair), said),))
            yield from _drawn(_sensitivity(pair, answer, footer))


def duties_shown(found: WorthFound, footer: str) -> Iterator[Table | Picture]:
    """Give the duties side by side."""
    answer = found.answer
    if answer is None or not answer.duties:
        return
    yield from _drawn(lambda: duties(answer, footer=footer))
    yield duties_table(answer)


def looking_shown(found: WorthFound, footer: str) -> Iterator[Picture | Answer]:
    """Give what to do now, and what more inspections are worth."""
    answer = found.answer
    if answer is None:
        return
    said = tuple(
        (
            "What to do now",
            str(one) if isinstance(one, Refusal) else looking_sentence(one, answer.prices.currency),
        )
        for one in answer.looking
    )
    if said:
        yield Answer(paragraphs=said)
    yield from _drawn(lambda: looking_value(answer, footer=footer))


def _sensitivity(pair: PairAnswer, answer: WorthAnswer, footer: str) -> Callable[[], Picture]:
    return lambda: cost_sensitivity(pair, answer.prices.currency, footer=footer)


def _drawn(draw: Callable[[], Picture]) -> Iterator[Picture]:
    """Give the figure where there is something to draw; what is missing is said in the text."""
    try:
        yield draw()
    except Refusal:
        return


def _cost_words(family: FamilyAnswer, answer: WorthAnswer) -> str:
    said = []
    if family.share is not None:
        duty = answer.judged.label(answer.duty)
        said.append(share_sentence(family.share, family.label, duty))
    if family.refusal is not None:
        said.append(str(family.refusal))
    budget = answer.prices.budget
    most = None if budget is None else budget.range.mean
    for cost in family.costs[:1]:
        said.append(cost_sentence(cost, answer.prices.currency, answer.confidence, most))
    return " ".join(said)


def _pair_words(answer: WorthAnswer) -> Iterator[tuple[str, str]]:
    """Give each pair: by its first basis in full, by others in short."""
    pairs: dict[str, list[PairAnswer]] = {}
    for pair in answer.pairs:
        pairs.setdefault(pair.comparison.premium.family, []).append(pair)
    given = (answer.prices.currency, answer.confidence)
    for first, *others in pairs.values():
        said = [comparison_sentence(first.comparison, *given)]
        said += [beside_sentence(other.comparison, *given) for other in others]
        yield _names(first), " ".join(said)


def _names(pair: PairAnswer) -> str:
    return f"{pair.comparison.premium.label} against {pair.comparison.ordinary.label}"
