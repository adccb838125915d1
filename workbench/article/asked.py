"""Which quantity and which families a notebook is asked for, or a refusal that names those met."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

from workbench.article.gathering import quantities_met
from workbench.article.names import family_order
from workbench.castings.places import WALL
from workbench.errors import Refusal

if TYPE_CHECKING:
    from workbench.study import Study


def quantity_asked(study: Study, quantity: str) -> str:
    """Give the quantity asked for; for "" the walls, or what was read most where there are none.

    Raises
    ------
    Refusal
        `unknown_quantity`, `not_a_number` for a feature seen by eye, `no_readings`.
    """
    settings, met = study.settings, quantities_met(study.records, study.settings)
    numbers = tuple(name for name in met if settings.quantities[name].kind != "feature")
    known = ", ".join(numbers) or "none"
    if quantity and quantity not in settings.quantities:
        raise Refusal("unknown_quantity", f"There is no quantity “{quantity}”; read were {known}.")
    if quantity and settings.quantities[quantity].kind == "feature":
        raise Refusal(
            "not_a_number",
            f"“{quantity}” is seen by eye and has no distribution of numbers; read were {known}.",
        )
    if (quantity and quantity not in met) or not numbers:
        raise Refusal(
            "no_readings", f"There is no reading of {quantity or 'a number'}; read were {known}."
        )
    counts = study.records.cells.groupby("quantity")["n"].sum()
    usual = WALL if WALL in numbers else max(numbers, key=lambda name: int(counts[name]))
    return quantity or usual


def families_asked(
    study: Study, quantity: str, families: Sequence[str], met: Collection[str]
) -> tuple[str, ...]:
    """Give the families asked for in the order of the study; all of those `met` where none is.

    Raises
    ------
    Refusal
        `unknown_family` for one without a reading; `no_readings` where none has one.
    """
    order = family_order(study.settings, met)
    if not order:
        raise Refusal("no_readings", f"No reading of {quantity} may enter a mean.")
    strange = [family for family in families if family not in order]
    if strange:
        raise Refusal(
            "unknown_family",
            f"No reading of {quantity} is of a family “{strange[0]}”; there are "
            f"{', '.join(order)}.",
        )
    return tuple(family for family in order if not families or family in families)
