"""The parameters of each notebook, checked before a kernel starts.

Papermill passes a misspelt or wrongly typed parameter on without a word, turns what JSON does not
know into text, and reads `007` as 7. Here a notebook takes exactly the names of its model, each
value has exactly the type of its field, and an id is text whatever it looks like.
"""

from __future__ import annotations

import ast
from collections.abc import Mapping, Sequence
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from workbench.errors import RunError

PARAMETERS_TAG = "parameters"
VALUE_SHOWN = 60

Text = Annotated[str, Field(min_length=1, max_length=4096)]
Name = Annotated[str, Field(max_length=100)]
Seed = Annotated[int, Field(ge=0, lt=2**63)]


class StudyParameters(BaseModel):
    """What every notebook takes: the folder of the study, and the seed of what is resampled."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)

    study: Text
    seed: Seed


class RecordsParameters(StudyParameters):
    """What was measured, and where it is missing."""


class MeasuringParameters(StudyParameters):
    """What gauges did to the readings, and how far these can be trusted."""


class DistributionsParameters(StudyParameters):
    """How the readings of a quantity are spread in each family."""


class FitsParameters(StudyParameters):
    """Which distribution a quantity has in each family, or in one of them, looked at whole.

    `quantity` "" is the walls, or what was read most; `family` "" is all families.
    """

    quantity: Name = ""
    family: Name = ""


class ThinSpotsParameters(StudyParameters):
    """How thin the thinnest place of a block is: of a quantity, below a limit, in some families.

    `quantity` "" is the walls, or what was read most; `limit` None is the limits of the duties
    stated; no `families` are all.
    """

    quantity: Name = ""
    limit: float | None = None
    families: list[Text] = Field(default_factory=list, max_length=100)


class IntervalsParameters(StudyParameters):
    """How sure the means and differences are."""


class BlockParameters(StudyParameters):
    """One block: `block` is its name; left empty, the one a run would show first."""

    block: Name = ""


class ShiftParameters(StudyParameters):
    """How the cores lie in each family, and which share of it is fit."""


class ClaimParameters(StudyParameters):
    """One claim: `claim` is its id in claims.toml."""

    claim: Text


class PlanParameters(StudyParameters):
    """What to measure next for each unresolved claim; `looks` spend false alarms on the way."""

    looks: Literal["obrien-fleming", "pocock"] = "obrien-fleming"


class WorthParameters(StudyParameters):
    """Whether blocks are worth their money: `duty` is a name of [fitness], "" the study's own."""

    duty: Name = ""


class ArticleParameters(StudyParameters):
    """The write-up of all claims."""


class SummaryParameters(StudyParameters):
    """All claims of the ledger."""


def checked(
    notebook: str, model: type[StudyParameters], values: Mapping[str, Any]
) -> dict[str, Any]:
    """Give `values` as plain JSON values in the order of the model, or refuse them.

    Raises
    ------
    RunError
        With every fault: a name the notebook does not take, a value of another type, one missing.
    """
    try:
        return model.model_validate(dict(values)).model_dump()
    except ValidationError as error:
        raise RunError(
            f"Notebook {notebook} was not started: "
            + "; ".join(fault(item, model) for item in error.errors())
            + "."
        ) from None


def fault(item: Any, model: type[StudyParameters]) -> str:
    """Say one fault of pydantic's in words."""
    name = ".".join(str(part) for part in item["loc"])
    if item["type"] == "extra_forbidden":
        return f"it has no parameter {name!r}; it takes {', '.join(model.model_fields)}"
    if item["type"] == "missing":
        return f"parameter {name!r} is missing"
    shown = repr(item["input"])
    if len(shown) > VALUE_SHOWN:
        shown = shown[:VALUE_SHOWN] + "…"
    kind = type(item["input"]).__name__
    return f"parameter {name!r}: {item['msg'].lower()}, not {shown} ({kind})"


def stated(notebook: str, model: type[StudyParameters], items: Sequence[str]) -> dict[str, Any]:
    """Read parameters written as `NAME=VALUE`: text as it stands, a number, names between commas.

    What a name or value is to be is said by `checked`; here a number that is none is refused.

    Raises
    ------
    RunError
        For an item without `=`, a name given twice, or a number that is none.
    """
    found: dict[str, Any] = {}
    for item in items:
        name, sign, value = item.partition("=")
        if not sign or name in found:
            why = "is given twice" if sign else "is not written NAME=VALUE"
            raise RunError(f"The parameter {clipped(item)} of notebook {notebook} {why}.")
        found[name] = _read(notebook, model, name, value)
    return found


def _read(notebook: str, model: type[StudyParameters], name: str, value: str) -> Any:
    field = model.model_fields.get(name)
    kinds = str(field.annotation) if field is not None else "str"
    if "list" in kinds:
        return [part.strip() for part in value.split(",") if part.strip()]
    if "float" not in kinds:
        return value
    try:
        return float(value)
    except ValueError:
        raise RunError(
            f"The parameter {name!r} of notebook {notebook} is a number, not {clipped(value)}."
        ) from None


def clipped(text: str) -> str:
    """Give a text in quotes, cut short where it is long."""
    return repr(text if len(text) <= VALUE_SHOWN else text[:VALUE_SHOWN] + "…")


def check_cell(name: str, notebook: Any, model: type[StudyParameters]) -> None:
    """Refuse a notebook whose parameters cell does not agree with its model.

    The cell tagged `parameters` assigns one literal to each field of the model and does nothing
    else, so that the notebook opened by hand runs on the same names and types.

    Raises
    ------
    RunError
        With what differs.
    """
    cells = [cell for cell in notebook.cells if PARAMETERS_TAG in cell.metadata.get("tags", [])]
    if len(cells) != 1 or cells[0].cell_type != "code":
        raise RunError(
            f"Notebook {name} has {len(cells)} cells with the tag {PARAMETERS_TAG!r}; "
            "it must have one, of code."
        )
    try:
        values = assigned(cells[0].source)
    except (SyntaxError, ValueError) as error:
        raise RunError(
            f"The parameters cell of notebook {name} may only assign plain values: {error}."
        ) from None
    checked(name, model, values)


def assigned(source: str) -> dict[str, Any]:
    """Read the names and literal values that a cell assigns."""
    values: dict[str, Any] = {}
    for statement in ast.parse(source).body:
        match statement:
            case ast.Assign(targets=[ast.Name(id=name)], value=value):
                values[name] = ast.literal_eval(value)
            case ast.AnnAssign(target=ast.Name(id=name), value=ast.expr() as value):
                values[name] = ast.literal_eval(value)
            case _:
                raise ValueError(f"line {statement.lineno} does something else")
    return values
