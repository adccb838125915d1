"""The fields of one claim, checked one by one; a checker keeps every fault it meets."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, Any

from workbench.claims.claim import ANALYSES, FIGURES, SCOPES, SHARES_OF
from workbench.claims.rules import DIRECTIONS
from workbench.errors import Refusal
from workbench.records.columns import did_you_mean
from workbench.records.faults import Fault
from workbench.records.quantity_table import SHARE
from workbench.records.units import canonical_unit, factor, kind_of

if TYPE_CHECKING:
    from workbench.records.settings import Settings

REQUIRED = ("id", "statement", "quantity", "candidate", "reference", "direction", "unit")
OPTIONAL = ("heard_from", "figure", "margin", "scope", "threshold", "of", "analysis")
FIELDS = (*REQUIRED, *OPTIONAL)
LONGEST = {"id": 80, "statement": 1_000, "heard_from": 500}
LONGEST_NAME = 100
LARGEST = 1e9
JOINERS = "\u200c\u200d"  # belong to the spelling of some scripts
ID_PATTERN = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")


class ClaimChecker:
    """Checks the table of one claim; `faults` holds what is wrong with it, each at its key."""

    def __init__(
        self,
        *,
        file: str,
        number: int,
        table: dict[str, Any],
        settings: Settings,
        families: Collection[str] | None,
    ) -> None:
        self.file = file
        self.number = number
        self.table = table
        self.settings = settings
        self.families = families
        self.faults: list[Fault] = []

    def checked(self) -> dict[str, Any]:
        """Give the fields of the claim, ready for `Claim`; not to be used when there are faults."""
        self._names()
        fields: dict[str, Any] = {
            "id": self._id(),
            "statement": self._text("statement"),
            "heard_from": self._text("heard_from", empty=True),
            "quantity": self._quantity(),
            "figure": self._choice("figure", FIGURES, "mean"),
            "candidate": self._family("candidate"),
            "reference": self._family("reference"),
            "direction": self._choice("direction", DIRECTIONS, None),
            "scope": self._choice("scope", SCOPES, "family"),
        }
        fields["unit"] = self._unit(fields["quantity"])
        fields["margin"] = self._margin(fields["direction"])
        fields["threshold"] = self._threshold(fields["figure"])
        fields["of"] = self._of(fields["figure"])
        if fields["figure"] == "share_below" and not -1 < fields["margin"] < 1:
            self.refuse(
                "margin", "bad_margin", "Shares differ by less than 1, and so does this margin."
            )
        fields["analysis"] = self._analysis(fields["figure"], fields["quantity"])
        if fields["candidate"] and fields["candidate"] == fields["reference"]:
            self.refuse("reference", "same_family", "A family cannot be compared with itself.")
        return fields

    def refuse(self, key: str, code: str, sentence: str) -> None:
        """Keep a fault at `key` of this claim."""
        value = self.table.get(key, "")
        self.faults.append(
            Fault(
                file=self.file,
                row=None,
                column=f"claim[{self.number}].{key}",
                value=value if isinstance(value, str) else str(value),
                code=code,
                sentence=sentence,
            )
        )

    def _names(self) -> None:
        for key in self.table:
            if key not in FIELDS:
                self.refuse(
                    key[:LONGEST_NAME],
                    "unknown_field",
                    f"A claim has no field of this name{did_you_mean(key, FIELDS)}.",
                )
        for key in REQUIRED:
            if key not in self.table:
                self.refuse(key, "missing_field", f"A claim needs the field “{key}”.")

    def _text(self, key: str, *, empty: bool = False) -> str:
        value = self.table.get(key)
        if value is None:
            return ""
        if not isinstance(value, str):
            self.refuse(key, "wrong_type", f"This is a text in quotes, not {_kind(value)}.")
            return ""
        value = " ".join(value.split())
        limit = LONGEST.get(key, LONGEST_NAME)
        if not value and not empty:
            self.refuse(key, "empty", "This text is empty.")
        if len(value) > limit:
            self.refuse(
                key, "too_long", f"This text has {len(value)} characters; {limit} are allowed."
            )
            return ""
        hidden = [sign for sign in value if not (sign.isprintable() or sign in JOINERS)]
        if hidden:
            self.refuse(
                key, "hidden_character", f"This text holds the hidden character {hidden[0]!a}."
            )
            return ""
        return value

    def _id(self) -> str:
        value = self._text("id")
        if value and not ID_PATTERN.fullmatch(value):
            self.refuse(
                "id",
                "bad_id",
                "An id is made of letters a to z, digits, “.”, “_” and “-”, and starts with a "
                "letter or digit: it names files of the report.",
            )
            return ""
        return value

    def _choice(self, key: str, choices: Sequence[str], default: str | None) -> str:
        if key not in self.table:
            return default or ""
        value = self._text(key)
        if value and value not in choices:
            self.refuse(
                key,
                "bad_choice",
                f"This is one of {', '.join(choices)}{did_you_mean(value, tuple(choices))}.",
            )
            return ""
        return value

    def _quantity(self) -> str:
        value = self._text("quantity")
        known = tuple(self.settings.quantities)
        if value and value not in known:
            self.refuse(
                "quantity",
                "unknown_quantity",
                f"No quantity of this name is known{did_you_mean(value, known)}; "
                "one of your own is declared in study.toml.",
            )
            return ""
        return value

    def _family(self, key: str) -> str:
        value = self._text(key)
        if value and self.families is not None and value not in self.families:
            self.refuse(
                key,
                "unknown_family",
                "No family of this name is in study.toml or in the readings"
                f"{did_you_mean(value, tuple(self.families))}.",
            )
        return value

    def _unit(self, quantity: str) -> str:
        value = self._text("unit")
        if not value or not quantity:
            return value
        known = self.settings.quantities[quantity]
        own = known.unit
        if known.kind == "feature":
            if value != SHARE:
                self.refuse(
                    "unit",
                    "unit_mismatch",
                    f"A claim on a feature is on shares of blocks: write unit = “{SHARE}”.",
                )
            return value
        if value == own:
            return value
        unit = canonical_unit(value)
        if unit is not None and kind_of(unit) == "hardness" == kind_of(own):
            return unit  # each scale is judged on its own readings
        try:
            if unit is None:
                raise Refusal("unknown_unit", "unknown")
            factor(unit, own)
        except Refusal:
            self.refuse(
                "unit",
                "unit_mismatch",
                f"This unit does not fit {quantity}, which is given in {own}"
                + (
                    f"; a claim on a share below states the unit of its threshold, such as {own}, "
                    "and its margin as a share from 0 to 1."
                    if value == SHARE
                    else "."
                ),
            )
            return value
        return unit

    def _number(self, key: str) -> float | None:
        value = self.table[key]
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.refuse(key, "wrong_type", f"This is a number, not {_kind(value)}.")
            return None
        if not abs(value) <= LARGEST:
            self.refuse(
                key, "not_finite", f"This is a number between -{LARGEST:g} and {LARGEST:g}."
            )
            return None
        return float(value)

    def _margin(self, direction: str) -> float:
        if "margin" not in self.table:
            if direction == "same":
                self.refuse(
                    "margin",
                    "margin_needed",
                    "A claim of sameness needs a margin: nothing is ever exactly the same.",
                )
            return 0.0
        value = self._number("margin")
        if value is None:
            return 0.0
        if direction == "same" and value <= 0:
            self.refuse("margin", "bad_margin", "The margin of a claim of sameness is above 0.")
        if direction == "different" and value < 0:
            self.refuse("margin", "bad_margin", "The margin of a difference is 0 or more.")
        return value

    def _threshold(self, figure: str) -> float | None:
        if "threshold" not in self.table:
            if figure == "share_below":
                self.refuse(
                    "threshold",
                    "threshold_needed",
                    "A share below needs its threshold.",
                )
            return None
        if figure and figure != "share_below":
            self.refuse(
                "threshold", "threshold_misplaced", f"A claim on the {figure} has no threshold."
            )
            return None
        return self._number("threshold")

    def _of(self, figure: str) -> str:
        if "of" in self.table and figure and figure != "share_below":
            self.refuse(
                "of", "of_misplaced", "Only a share below is of places, of bores or of blocks."
            )
        return self._choice("of", SHARES_OF, SHARES_OF[0])

    def _analysis(self, figure: str, quantity: str) -> str | None:
        if "analysis" not in self.table:
            return None
        seen = bool(quantity) and self.settings.quantities[quantity].kind == "feature"
        if figure and figure != "mean" and not seen:
            self.refuse(
                "analysis",
                "analysis_misplaced",
                "Only a claim on the mean, or on a feature, names its analysis.",
            )
            return None
        return self._choice("analysis", ANALYSES, None) or None


def _kind(value: object) -> str:
    """Name what a TOML value is, for a sentence."""
    if isinstance(value, bool):
        return "true or false"
    for kind, name in ((str, "a text"), (int | float, "a number"), (list, "a list")):
        if isinstance(value, kind):
            return name
    return "a table" if isinstance(value, dict) else "a date or time"
