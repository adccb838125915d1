"""The parameter sets of a notebook that is run over blocks, claims, duties or values given."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from workbench.errors import RunError
from workbench.runs.parameters import clipped, stated
from workbench.runs.plan import Notebook

if TYPE_CHECKING:
    from workbench.study import Study

FIXED = ("study", "seed")


def over(study: Study, book: Notebook, each: Sequence[str]) -> dict[str, list[Any]]:
    """Give the values of each parameter that a notebook is run over.

    Parameters
    ----------
    study : Study
    book : Notebook
    each : sequence of str
        `NAME`, for all the study has of it, or `NAME=VALUE,VALUE`.

    Raises
    ------
    RunError
        For a name the notebook does not take, one given twice, or one without values.
    """
    found: dict[str, list[Any]] = {}
    for item in each:
        name, sign, text = item.partition("=")
        takes = [field for field in book.model.model_fields if field not in FIXED]
        if name not in takes:
            raise RunError(
                f"Notebook {book.name} cannot be run over {clipped(name)}; "
                f"it can be over {', '.join(takes) or 'nothing'}."
            )
        if name in found:
            raise RunError(f"Notebook {book.name} is to be run over {name} twice.")
        words = [part.strip() for part in text.split(",")] if sign else values_of(study, name)
        values = [word for word in dict.fromkeys(words) if word]
        if not values:
            raise RunError(f"There is no value of {name} to run notebook {book.name} over.")
        found[name] = [stated(book.name, book.model, [f"{name}={one}"])[name] for one in values]
    return found


def values_of(study: Study, name: str) -> list[str]:
    """Give all that a study has of a parameter, in the order of the study.

    Raises
    ------
    RunError
        For a parameter whose values no study states.
    """
    match name:
        case "block":
            return [str(block) for block in study.records.blocks["block"]]
        case "claim":
            return list(study.ledger.ids)
        case "duty":
            return list(study.settings.fitness)
        case "family" | "families":
            return [str(one) for one in study.records.blocks["family"].unique()]
        case "quantity":
            return sorted(str(one) for one in study.records.cells["quantity"].unique())
    raise RunError(f"A study lists no {name}; give values: --each {name}=VALUE,VALUE")


def sets(axes: Mapping[str, Sequence[Any]]) -> Iterator[dict[str, Any]]:
    """Give every combination of the values, the last name the fastest."""
    return (dict(zip(axes, one, strict=True)) for one in itertools.product(*axes.values()))
