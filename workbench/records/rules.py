"""The row rules, as SQL: what makes a reading a fault, in which column, and what is said of it.

All rules of a row are asked at once; each has a bit, so one pass finds every fault of every row.
"""
# ruff: noqa: S608 -- statements are put together from our own names, never from a user's text

from __future__ import annotations

from dataclasses import dataclass

from workbench.records.columns import ID_LENGTH, NOTE_LENGTH, READINGS
from workbench.records.known import HIDDEN, SHORT
from workbench.records.numbers import matches
from workbench.records.quantity_table import UNCONVERTED
from workbench.records.settings import Settings
from workbench.records.units import REBOUND

REQUIRED = tuple(column.name for column in READINGS if column.required)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A rule: its code, what is said, and for each column the condition that breaks it."""

    code: str
    sentence: str
    conditions: dict[str, str]
    rare: bool = False

    @property
    def broken(self) -> str:
        """The condition that any column breaks it; a rare one is asked of odd rows only."""
        anywhere = " or ".join(f"({condition})" for condition in self.conditions.values())
        return f"case when odd then ({anywhere}) else false end" if self.rare else anywhere


def row_rules(settings: Settings) -> tuple[Rule, ...]:
    """Give the rules for the readings of a study."""
    number = "look = 'number'"
    rules = [
        Rule(
            code="missing",
            sentence="“{column}” is required and empty.",
            conditions={name: f"{name} = ''" for name in REQUIRED}
            | {"unit": "unit = '' and (kind is null or kind <> 'feature')"},
        ),
        Rule(
            code="formula",
            sentence="The cell holds a formula; formulas are never computed.",
            conditions={name: f"substr({name}, 1, 1) = '='" for name in SHORT},
            rare=True,
        ),
        Rule(
            code="cell_error",
            sentence="The cell of the workbook shows an error.",
            conditions={name: f"{name} = '#error'" for name in SHORT},
            rare=True,
        ),
        Rule(
            code="hidden_character",
            sentence="“{column}” holds a control or invisible character.",
            conditions={name: matches(name, HIDDEN) for name in SHORT},
            rare=True,
        ),
        Rule(
            code="too_long",
            sentence="“{column}” is longer than {longest} characters.",
            conditions={name: f"odd and length({name}) > {ID_LENGTH}" for name in SHORT}
            | {"note": f"length(note) > {NOTE_LENGTH}"},
        ),
        Rule(
            code="open_quote",
            sentence="The note holds whole rows: a quotation mark is opened and not closed.",
            conditions={"note": "swallowed"},
        ),
        Rule(
            code="not_a_number",
            sentence="The value is not a number.",
            conditions={"value": "look = 'none' and value <> '' and not formula"},
        ),
        Rule(
            code="not_finite",
            sentence="The value is not a finite number.",
            conditions={"value": "look = 'infinite'"},
        ),
        Rule(
            code="ambiguous_number",
            sentence="The value can be read two ways, and nothing in the file decides: "
            "state [readings] decimal in study.toml.",
            conditions={"value": "look = 'ambiguous'"},
        ),
        Rule(
            code="too_large",
            sentence="The value is too large to be true (over 10 m, 10 t or 10 000 on a scale).",
            conditions={"value": f"{number} and (shown is null or abs(shown) > most)"},
        ),
        Rule(
            code="not_positive",
            sentence="The value must be above 0, by a millionth of the unit at least.",
            conditions={"value": f"{number} and shown <= 0 and not signed"},
        ),
        Rule(
            code="unknown_quantity",
            sentence="The quantity is not known{hint}.",
            conditions={"quantity": "quantity <> '' and known_quantity is null"},
        ),
        Rule(
            code="unknown_unit",
            sentence="The unit is not known{hint}.",
            conditions={
                "unit": "unit <> '' and any_unit is null and known_unit is null"
                f" and (kind is null or kind not in {UNCONVERTED})"
            },
        ),
        Rule(
            code="unit_mismatch",
            sentence="The unit does not fit the quantity.",
            conditions={
                "unit": "unit <> '' and known_quantity is not null and known_unit is null"
                f" and (any_unit is not null or kind in {UNCONVERTED}) and not pressed"
            },
        ),
        Rule(
            code="impression_unstated",
            sentence="A hardness in a unit of length is the diameter of an impression: state what "
            "pressed it as [gauges.NAME.impression], with load and ball, in study.toml.",
            conditions={"unit": "pressed and not presses"},
        ),
        Rule(
            code="impression_ratio",
            sentence="The impression is not 0.24 to 0.60 of the ball across, where Brinell "
            "hardness holds; use another load.",
            conditions={
                "value": f"{number} and pressed and presses and shown > 0 and micro is null"
            },
        ),
        Rule(
            code="converted_scale",
            sentence="The gauge reads on another hardness scale. No conversion is taken for grey "
            "iron: write what it showed on its own.",
            conditions={
                "unit": "kind = 'hardness' and any_kind = 'hardness' and scale is not null"
                f" and any_unit <> scale and not (scale = '' and any_unit in {REBOUND})"
            },
        ),
        Rule(
            code="unknown_grade",
            sentence="The value is not among the levels of this feature{hint}.",
            conditions={
                "value": "kind = 'feature' and value <> '' and micro is null and not formula"
            },
        ),
        Rule(
            code="unknown_sampling",
            sentence="“sampling” must be one of grid, search{hint}.",
            conditions={"sampling": "known_sampling is null"},
        ),
        Rule(
            code="unknown_contact",
            sentence="“contact” must be one of good, doubtful{hint}.",
            conditions={"contact": "known_contact is null"},
        ),
        Rule(
            code="unknown_gauge",
            sentence="The gauge is neither in [gauges] of study.toml nor in any calibration{hint}.",
            conditions={"gauge": "gauge <> '' and known_gauge is null"},
        ),
    ]
    return (*rules, *_drawing_rules(settings))


def _drawing_rules(settings: Settings) -> list[Rule]:
    """Give the rules a drawing adds: its stations for walls, its number of bores."""
    drawing, rules = settings.drawing, []
    if drawing and drawing.stations:
        rules.append(
            Rule(
                code="unknown_station",
                sentence="The station is neither in [drawing.stations] nor an angle from 0 to 360"
                "{hint}.",
                conditions={
                    "station": "station <> '' and place is null"
                    " and known_quantity = 'wall_thickness'"
                },
            )
        )
    if drawing and drawing.bores:
        rules.append(
            Rule(
                code="unknown_bore",
                sentence=f"The drawing has bores 1 to {drawing.bores}.",
                conditions={
                    "bore": f"{matches('bore', '^[0-9]+$')}"
                    f" and coalesce(try_cast(bore as integer), 0) not between 1 and {drawing.bores}"
                },
            )
        )
    return rules


def mask_sql(rules: tuple[Rule, ...]) -> str:
    """Give the expression with a bit for each rule a row breaks; 0 for a sound row."""
    bits = [f"case when {rule.broken} then {2**at} else 0 end" for at, rule in enumerate(rules)]
    return f"cast({' + '.join(bits)} as bigint)"


def faults_sql(rules: tuple[Rule, ...], known: str) -> str:
    """Give one row a fault (file, row, place, column, value, code) of the rows of `known`."""
    asked = [
        (rule, column, condition) for rule in rules for column, condition in rule.conditions.items()
    ]
    parts = [
        f"select file, row, {place} as place, '{column}' as \"column\", {column} as value,"
        f" '{rule.code}' as code from {known} where {condition}"
        for place, (rule, column, condition) in enumerate(asked)
    ]
    none = (
        "select file, row, 0 as place, '' as \"column\", '' as value, '' as code"
        f" from {known} where false"
    )
    return " union all ".join(parts or [none])
