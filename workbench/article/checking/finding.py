"""What a check of a draft finds: the line, what is wrong with it, and what to write instead."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

CODES = {
    "number_differs": "A number is not the study's.",
    "number_unknown": "A number stands nowhere in the study.",
    "rounded_stronger": "A number is rounded in favour of the claim.",
    "too_fine": "A number has more digits than its uncertainty allows.",
    "p_as_threshold": "A p-value is given as a bound where the study has it.",
    "significant_without_effect": "“Significant” or a p-value, and no effect with its unit.",
    "no_interval": "An effect without its interval.",
    "no_counts": "An effect without the number of blocks it rests on.",
    "one_block_family": "A sentence on a family of which one block is known.",
    "open_as_settled": "An unresolved claim told as settled.",
    "contradicted_as_true": "A contradicted claim told as true.",
    "no_difference": "Sameness said without a supported claim of it.",
    "proof_word": "A word of proof.",
    "causal_word": "A word of cause.",
    "every_block": "What holds of a family together, told of each of its blocks.",
    "end_as_effect": "An end of an interval told as the difference.",
    "multiple_said": "A multiple in words, which nothing can be held against.",
    "number_in_words": "A number in words before a unit.",
    "other_unit": "A number in a unit the study prints nothing in.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One fault of a draft: `code` is one of `CODES`, `excerpt` the sentence it stands in."""

    line: int
    code: str
    excerpt: str
    text: str
    suggestion: str

    def to_json(self) -> dict[str, Any]:
        """Give the finding as JSON takes it."""
        return asdict(self)
