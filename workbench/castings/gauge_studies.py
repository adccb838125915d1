"""Gauge studies that lie in the records: places read again, by several operators or gauges.

A part is a place of a block. Operators are compared by what they read with one gauge, and gauges by
what one operator read, wherever the records allow it. Where operators (or gauges) read the same
places the study is crossed, where each read places of its own it is nested; where nobody shared or
repeated a place the answer is why there is none. What is chosen from many places is chosen by how
often they were read, never by what was read there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from workbench.errors import Refusal
from workbench.inference.grouping import rows_of
from workbench.inference.measuring.gauge_analysis import Design, gauge_study
from workbench.inference.measuring.gauge_study import GaugeStudy
from workbench.records.settings import Settings

FACTORS = ("operator", "gauge")
MOST_PARTS = 20  # of a study that is not balanced: its likelihood grows with the square of them
MOST_BALANCED = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedStudy:
    """The gauge study of one quantity over operators, or over gauges, or why there is none.

    `labels` are the operators or gauges met, `places` how many places were read more than once,
    `step` that of the display. `held` names the gauge (or operator) whose readings alone were used,
    "" where all were. `together` tells that whoever changed the one changed the other: operators
    and gauges then cannot be told apart.
    """

    quantity: str
    unit: str
    factor: str
    study: GaugeStudy | None = None
    design: str = ""
    why: str = ""
    labels: tuple[str, ...] = ()
    places: int = 0
    step: float = 0.0
    held: str = ""
    together: bool = False


def recorded_studies(
    readings: Mapping[str, pd.DataFrame], settings: Settings
) -> tuple[RecordedStudy, ...]:
    """Make every gauge study the `repeated_readings` allow: over operators, and over gauges.

    A factor with one label is left out where the other has several, or has one too.
    """
    return tuple(
        recorded_study(mine, name, settings.quantities[name].unit, factor)
        for name, mine in readings.items()
        for factor in _asked(mine)
    )


def _asked(readings: pd.DataFrame) -> list[str]:
    """Give the factors worth a study: those with several labels, or the first where none has."""
    several = [factor for factor in FACTORS if len(set(readings[factor].unique()) - {""}) > 1]
    return several or list(FACTORS[:1])


def recorded_study(readings: pd.DataFrame, quantity: str, unit: str, factor: str) -> RecordedStudy:
    """Make the study of one quantity over `factor`; what cannot be made says why."""
    bare = RecordedStudy(quantity=quantity, unit=unit, factor=factor)
    if readings.empty:
        return replace(bare, why="no place was read more than once")
    named = readings[readings[factor] != ""]
    named, held = _held(readings if named.empty else named, factor)
    counts = _counts(named, factor)
    labels = tuple(counts.columns)
    try:
        chosen, design = _chosen(counts, factor)
        kept = named[named["part"].isin(chosen.index)]
        study = gauge_study(
            kept["part"].to_numpy(),
            kept["value"].to_numpy(),
            kept[factor].to_numpy() if len(labels) > 1 else None,
            design=design,
        )
    except Refusal as refusal:
        return replace(bare, why=str(refusal).rstrip("."), labels=labels, held=held)
    return replace(
        bare,
        study=study,
        design=design,
        labels=labels,
        places=len(counts),
        step=float(kept["step"].max()),
        held=held,
        together=len(labels) > 1 and _changed_together(kept, factor),
    )


def _counts(named: pd.DataFrame, factor: str) -> pd.DataFrame:
    """Count the readings of each place (rows) by each label."""
    codes, labels = pd.factorize(named[factor], sort=True)
    parts, rows = np.unique(named["part"], return_inverse=True)
    counts = np.bincount(rows * len(labels) + codes, minlength=parts.size * len(labels))
    return pd.DataFrame(counts.reshape(parts.size, -1), index=parts, columns=labels.tolist())


def _held(named: pd.DataFrame, factor: str) -> tuple[pd.DataFrame, str]:
    """Keep the readings of one label of the other factor: the one with most at shared places.

    All are kept where the other factor has one label, or none of its labels has shared places.
    """
    other = FACTORS[1 - FACTORS.index(factor)]
    best, most, several = "", 0, list(rows_of(named[other]))
    for label, at in several:
        counts = _counts(named.iloc[at], factor).to_numpy()
        shared = int(counts[(counts > 0).sum(axis=1) > 1].sum())
        if shared > most:
            best, most = label, shared
    if len(several) == 1 or not best:
        return named, ""
    return named[named[other] == best], best


def _chosen(counts: pd.DataFrame, factor: str) -> tuple[pd.DataFrame, Design]:
    """Choose the places of a study from the readings each label has there."""
    if counts.shape[1] == 1:
        return _balanced(counts[counts.iloc[:, 0] > 1]), "crossed"
    shared = counts[(counts > 0).sum(axis=1) > 1]
    if len(shared) > 1:
        if not (shared > 1).to_numpy().any():
            raise Refusal(
                "no_repeats",
                f"No place that several {factor}s read was read twice by one of them, so the "
                "repeatability is not known.",
            )
        return _crossed(shared), "crossed"
    return _nested(counts, factor), "nested"


def _crossed(shared: pd.DataFrame) -> pd.DataFrame:
    """Take a balanced part of a crossed study where it holds as much as the places read most."""
    pattern = shared.apply(tuple, axis=1)
    alike = [
        shared[pattern == one]
        for one in pattern.unique()
        if len({count for count in one if count}) == 1 and max(one) > 1
    ]
    largest = max(alike, key=lambda part: part.to_numpy().sum(), default=shared.iloc[:0])
    largest = _spread(largest, MOST_BALANCED)
    most = _spread(shared, MOST_PARTS)
    return largest if largest.to_numpy().sum() >= most.to_numpy().sum() else most


def _nested(counts: pd.DataFrame, factor: str) -> pd.DataFrame:
    """Give each label as many places of its own, each read as often."""
    own = counts[((counts > 0).sum(axis=1) == 1) & (counts.max(axis=1) > 1)]
    by_label = own.idxmax(axis=1)
    if len(own) == 0 or by_label.value_counts().size < 2:
        raise Refusal(
            "no_shared_place",
            f"No place was read by two {factor}s, and only one of them read places again.",
        )
    repeats = own.max(axis=1)
    for often in repeats.value_counts().index:
        same = own[repeats == often]
        groups = [part for _, part in same.groupby(by_label[same.index])]
        least = min(map(len, groups))
        if len(groups) > 1 and least > 1:
            return pd.concat([_spread(part, min(least, MOST_BALANCED)) for part in groups])
    raise Refusal(
        "no_shared_place",
        f"No place was read by two {factor}s, and their own places were not read equally often.",
    )


def _balanced(counts: pd.DataFrame) -> pd.DataFrame:
    """Take the places one label read equally often, as most were."""
    if counts.empty:
        raise Refusal("no_repeats", "No place was read twice.")
    often = counts.iloc[:, 0].value_counts().index[0]
    return _spread(counts[counts.iloc[:, 0] == often], MOST_BALANCED)


def _spread(counts: pd.DataFrame, most: int) -> pd.DataFrame:
    """Keep the places read most, and of those read equally often some spread over all."""
    if len(counts) <= most:
        return counts
    rank = (counts > 0).sum(axis=1) * 1_000_000 + counts.sum(axis=1)
    edge = rank.sort_values(ascending=False).iloc[most - 1]
    above, equal = counts.loc[rank > edge], counts.loc[rank == edge]
    at = np.linspace(0, len(equal) - 1, most - len(above)).round().astype(int)
    kept: pd.DataFrame = pd.concat([above, equal.iloc[at]])
    return kept


def _changed_together(kept: pd.DataFrame, factor: str) -> bool:
    """Tell whether the other factor changed wherever this one did, place by place."""
    other = FACTORS[1 - FACTORS.index(factor)]
    pairs: dict[int, set[tuple[str, str]]] = {}
    for part, mine, theirs in zip(kept["part"], kept[factor], kept[other], strict=True):
        pairs.setdefault(part, set()).add((mine, theirs))
    several = [met for met in pairs.values() if len({mine for mine, _ in met}) > 1]
    if not any(theirs for met in several for _, theirs in met):
        return False
    return all(
        len(met) == len({mine for mine, _ in met}) == len({theirs for _, theirs in met})
        for met in several
    )
