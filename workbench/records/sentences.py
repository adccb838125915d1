"""The sentence of a fault: one template a code, filled with the column and what it is about."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from workbench.records.columns import CONTACT, READINGS, SAMPLING, did_you_mean
from workbench.records.rules import row_rules
from workbench.records.settings import Settings
from workbench.records.units import all_units

ROW_SENTENCES = {
    "ragged_row": "The row has not as many columns as the header.",
    "block_family": "Other rows, as many or more, say the block is of family “{about}”.",
    "duplicate_row": "The row is equal to an earlier one ({about}) in every column.",
    "repeat_conflict": "Another row gives this place another value under the same repeat "
    "number; nothing says which is right.",
    "not_kept": "study.toml states that {about}; the reading, or the entry in "
    "[[truncation]], is wrong.",
    "held_otherwise": "The collection holds another value for this place and repeat number. If "
    "this one is right, write it as a correction, with the other in a column was_value.",
    "already_held": "The collection holds the corrected reading already; leave “value” empty to "
    "strike out the wrong one.",
    "nothing_to_correct": "No reading of the collection is as the was_ columns say with all else "
    "as in this row: a correction repeats every column of the reading.",
    "nothing_to_mend": "“mends” names no rejected row of the collection that is still open.",
}
_LONGEST = {column.name: column.longest for column in READINGS}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sentences:
    """The templates by code, and by column the words a slip of the pen may have meant."""

    templates: Mapping[str, str]
    choices: Mapping[str, tuple[str, ...]]

    def one(self, code: str, column: str, value: str, about: str) -> str:
        """Give the sentence of one fault."""
        template = self.templates[code]
        hint = did_you_mean(value, self.choices.get(column, ())) if "{hint}" in template else ""
        return template.format(
            column=column, hint=hint, about=about, longest=_LONGEST.get(column, 0)
        )

    def of_frame(self, found: pd.DataFrame) -> list[str]:
        """Give the sentences of a frame of faults, each distinct one made once.

        What was said when a row was rejected earlier is said again.
        """
        made: dict[tuple[str, ...], str] = {}
        answer = []
        for code, column, value, about, said in zip(
            *(found[name] for name in ("code", "column", "value", "about", "said")), strict=True
        ):
            if said:
                answer.append(said)
                continue
            hinted = value if "{hint}" in self.templates[code] else ""
            key = (code, column, hinted, about)
            if key not in made:
                made[key] = self.one(code, column, value, about)
            answer.append(made[key])
        return answer


def sentences_of(settings: Settings) -> Sentences:
    """Give the sentences for a study."""
    stations = tuple(settings.drawing.stations) if settings.drawing else ()
    levels = (level for quantity in settings.quantities.values() for level in quantity.levels)
    return Sentences(
        templates={rule.code: rule.sentence for rule in row_rules(settings)} | ROW_SENTENCES,
        choices={
            "quantity": tuple(settings.quantities),
            "unit": all_units(),
            "sampling": SAMPLING,
            "contact": CONTACT,
            "station": stations,
            "gauge": tuple(settings.gauges),
            "value": tuple(dict.fromkeys(levels)),
        },
    )
