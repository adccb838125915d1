"""What inspecting more blocks is worth, by how many are inspected, against what they cost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import pandas as pd

from workbench.article import style
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, wrapped
from workbench.errors import Refusal
from workbench.worth.fit_share import COUNTED
from workbench.worth.information import LookingValue
from workbench.worth.wording import blocks_text, money_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from workbench.article.style import Look
    from workbench.worth.answer import WorthAnswer

PANEL = 3.0
DASHED = (0, (4, 2))


def looking_value(answer: WorthAnswer, *, footer: str = "") -> Picture:
    """Draw the value of 1, 2, ... more inspections of each family, and their fee.

    Raises
    ------
    Refusal
        `nothing_to_draw` where no inspection can be weighed.
    """
    found = [
        looking for looking in answer.looking if isinstance(looking, LookingValue) and looking.looks
    ]
    if not found:
        raise Refusal("nothing_to_draw", "No further inspection can be weighed against its fee.")
    currency = answer.prices.currency
    with style.drawing():
        figure = style.sheet(1.4 + PANEL, title="What more inspections are worth", footer=footer)
        looks = style.looks(_families(found), answer.prices.labels)
        panels = figure.subplots(1, len(found), squeeze=False, sharey=True)
        for axes, looking in zip(panels[0], found, strict=True):
            _draw(axes, looking, looks)
        style.value_axis(panels[0, 0], f"money ({wrapped(currency, 20, 1)})", axis="y")
        _explain(figure, looks)
        return finish(
            figure,
            alt=_alternative(found, currency),
            caption=(
                "Lines with marks: what seeing so many more blocks of a family first is worth on "
                "average, because the choice may become a better one. Dashed: what inspecting them "
                "costs. Looking pays where its line lies above the dashed one. Dotted: the value "
                "of knowing the share of every family, which no inspection can pass. Above 1 "
                "the scale is one of ratios."
            ),
            data=_data(found),
        )


def _families(found: Sequence[LookingValue]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(look.family for looking in found for look in looking.looks))


def _draw(axes: Axes, looking: LookingValue, looks: Mapping[str, Look]) -> None:
    for family in _families([looking]):
        look = looks[family]
        own = [found for found in looking.looks if found.family == family]
        numbers = [found.blocks for found in own]
        axes.plot(numbers, [f.value for f in own], color=look.colour, marker=look.marker, ms=4.5)
        axes.plot(numbers, [f.fee for f in own], color=look.colour, linestyle=DASHED, linewidth=1)
    if not isinstance(looking.perfect, Refusal):
        axes.axhline(looking.perfect.value, color=style.SOFT, linestyle=(0, (1, 2)), linewidth=1.2)
    basis = "by the count of blocks" if looking.basis == COUNTED else "by the model"
    axes.set_title(f"{basis}: {looking.action}", fontsize=9)
    axes.set_xlabel("further blocks inspected", fontsize=9)
    axes.set_xlim(0.5, max(found.blocks for found in looking.looks) + 0.5)
    axes.set_yscale("symlog", linthresh=1)
    axes.set_ylim(bottom=-0.05)
    axes.grid(visible=True, axis="y")


def _explain(figure: object, looks: Mapping[str, Look]) -> None:
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

    assert isinstance(figure, Figure)
    marks = [
        Line2D([], [], color=look.colour, marker=look.marker, label=look.label, markersize=5)
        for look in looks.values()
    ]
    marks.append(Line2D([], [], color=style.SOFT, linestyle=DASHED, label="fee"))
    marks.append(Line2D([], [], color=style.SOFT, linestyle=(0, (1, 2)), label="all known"))
    figure.legend(handles=marks, loc="outside upper right", ncols=len(marks), fontsize=8.5)


def _alternative(found: Sequence[LookingValue], currency: str) -> str:
    said = []
    for looking in found:
        best = max(looking.looks, key=lambda look: look.net)
        basis = "By the count" if looking.basis == COUNTED else "By the model"
        perfect = (
            ""
            if isinstance(looking.perfect, Refusal)
            else f"; to know every share is worth {money_text(looking.perfect.value, currency)}"
        )
        said.append(
            f"{basis}: {looking.action}; of all looks {blocks_text(best.blocks)} of "
            f"{clean(best.label, 60)} gains most, worth {money_text(best.value, currency)} for a "
            f"fee of {money_text(best.fee, currency)}{perfect}"
        )
    return f"Curves of the value of further inspections against their fee. {'. '.join(said)}."


def _data(found: Sequence[LookingValue]) -> pd.DataFrame:
    rows = [
        (looking.basis, look.family, look.blocks, look.value, look.error, look.fee)
        for looking in found
        for look in looking.looks
    ]
    columns = ["basis", "family", "blocks", "value", "error", "fee"]
    return pd.DataFrame(rows, columns=columns)
