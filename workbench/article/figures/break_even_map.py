"""At which price and share of fit blocks a dear family is the cheaper one: the line between."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from workbench.article import style
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, wrapped
from workbench.errors import Refusal
from workbench.worth.break_even import break_even_prices
from workbench.worth.wording import hundred_text, money_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from workbench.worth.answer import PairAnswer, WorthAnswer

SHARES = np.linspace(0.005, 1.0, 200)
PANEL = 3.4
SPREAD = 12.0  # a line so far above the price is drawn on a scale of ratios


def break_even_map(answer: WorthAnswer, *, footer: str = "") -> Picture:
    """Draw, for each dear family, the price at which it breaks even over its share of fit blocks.

    The ordinary block is taken at its expected cost, by the first basis that has one.

    Raises
    ------
    Refusal
        `nothing_to_draw` where no pair has such a line.
    """
    lines = _lines(answer)
    if not lines:
        raise Refusal("nothing_to_draw", "No two families can be held against each other.")
    currency = answer.prices.currency
    with style.drawing():
        figure = style.sheet(
            1.0 + PANEL,
            title="Where the dear block is the cheaper one",
            footer=footer,
        )
        panels = figure.subplots(1, len(lines), squeeze=False, sharex=True)
        for axes, (pair, even) in zip(panels[0], lines, strict=True):
            _draw(axes, pair, even, answer)
        label = f"price of a block ({wrapped(currency, 20, 1)})"
        style.value_axis(panels[0, 0], label, axis="y")
        return finish(
            figure,
            alt=_alternative(lines, answer),
            caption=(
                "Below the line a usable block of the dear family costs less than one of the "
                "ordinary family, above it more. The cross is where the study stands: the price as "
                "stated, with its range, and the share of fit blocks by count, with its "
                f"{100 * answer.confidence:g}% interval."
            ),
            data=_data(lines),
        )


def _lines(answer: WorthAnswer) -> list[tuple[PairAnswer, np.ndarray]]:
    """Give each pair by its first basis with the break-even price at each share."""
    found: dict[str, tuple[PairAnswer, np.ndarray]] = {}
    for pair in answer.pairs:
        name, target = pair.comparison.premium.family, pair.comparison.ordinary.mean
        if name in found or target is None:
            continue
        try:
            found[name] = (pair, break_even_prices(answer.prices.of(name), target, SHARES))
        except Refusal:  # rejects that fetch more than they cost have no such price
            continue
    return list(found.values())


def _draw(axes: Axes, pair: PairAnswer, even: np.ndarray, answer: WorthAnswer) -> None:
    money = answer.prices.of(pair.comparison.premium.family)
    share = answer.judged.shares[pair.duty][money.family]
    belief, tail = share.belief("counted"), (1 - answer.confidence) / 2
    low, middle, high = (float(at) for at in belief.quantile([tail, 0.5, 1 - tail]))
    price = money.price.range
    top = 1.15 * max(float(even.max()), price.high)
    ratios = price.low > 0 and top / price.low > SPREAD
    bottom = min(price.low / 3, float(even.max()) / 3) if ratios else 0.0
    top = 3 * top if ratios else top
    axes.fill_between(100 * SHARES, bottom, np.maximum(even, 0), color=style.SHADE, linewidth=0)
    axes.plot(100 * SHARES, even, color=style.BLUE, linewidth=1.6)
    axes.plot([100 * low, 100 * high], [price.likely] * 2, color=style.VERMILLION, linewidth=1.6)
    axes.plot([100 * middle] * 2, [price.low, price.high], color=style.VERMILLION, linewidth=1.6)
    axes.plot([100 * middle], [price.likely], "s", color=style.VERMILLION, markersize=5)
    axes.set_xlim(0, 100)
    if ratios:
        style.ratio_axis(axes, axis="y")
        style.value_axis(axes, "", axis="y")
    axes.set_ylim(bottom, top)
    for at, word in ((0.03, "cheaper"), (0.97, "dearer")):
        axes.text(
            0.5 if at < 0.5 else 0.03,
            at,
            word,
            transform=axes.transAxes,
            va="bottom" if at < 0.5 else "top",
            fontsize=8.5,
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.7, "pad": 1.5},
        )
    names = f"{money.label} against {pair.comparison.ordinary.label}"
    axes.set_title(wrapped(names, 38, 2), fontsize=9)
    axes.set_xlabel(wrapped(f"fit of a hundred {money.label} blocks", 40, 2), fontsize=9)
    axes.grid(visible=True)


def _alternative(lines: Sequence[tuple[PairAnswer, np.ndarray]], answer: WorthAnswer) -> str:
    said = []
    for pair, even in lines:
        money = answer.prices.of(pair.comparison.premium.family)
        share = answer.judged.shares[pair.duty][money.family]
        middle = float(share.belief("counted").quantile([0.5])[0])
        at = float(np.interp(middle, SHARES, even))
        currency = answer.prices.currency
        side = "below" if money.price.range.likely < at else "above"
        said.append(
            f"{clean(money.label, 60)} at {money_text(money.price.range.likely, currency)} and "
            f"{hundred_text(middle)} of a hundred fit lies {side} the line, which is at "
            f"{money_text(at, currency, abs(at) / 20)} there"
        )
    return (
        "Maps of price against the share of fit blocks, one a dear family, with the line at which "
        f"it costs as much per usable block as the ordinary one. {'; '.join(said)}."
    )


def _data(lines: Sequence[tuple[PairAnswer, np.ndarray]]) -> pd.DataFrame:
    return pd.concat(
        [
            pd.DataFrame({"share": SHARES, "break_even_price": even}).assign(
                premium=pair.comparison.premium.family, ordinary=pair.comparison.ordinary.family
            )
            for pair, even in lines
        ],
        ignore_index=True,
    )
