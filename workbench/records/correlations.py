"""`correlations.csv`: one place read on two hardness scales, a row a pair, with faults."""

from __future__ import annotations

from collections.abc import Collection

import pandas as pd

from workbench.records.columns import Column
from workbench.records.faults import Fault
from workbench.records.sidefiles import faults_where, no_rows, read_small
from workbench.records.sources import Source

CORRELATIONS = (
    Column(
        name="correlation",
        holds="the name of its table `[correlations.NAME]` in `study.toml`",
        required=True,
    ),
    Column(
        name="shown",
        holds="what the gauge showed at the place (a mean), on the scale `shown`",
        required=True,
        synonyms=("indicated", "reading"),
    ),
    Column(
        name="value",
        holds="the hardness found at the same place, on the scale `to`",
        required=True,
        synonyms=("reference", "hardness"),
    ),
    Column(name="shown_uncertainty", holds="standard uncertainty of what was shown"),
    Column(name="value_uncertainty", holds="standard uncertainty of the hardness found"),
    Column(name="block", holds="the block or piece", synonyms=("piece", "casting")),
)


def read_correlations(
    source: Source | None, stated: Collection[str]
) -> tuple[pd.DataFrame, list[Fault]]:
    """Give the sound rows, with `row`, where each stands in the file; left-out numbers are NaN.

    `stated` names the correlations of `study.toml`.
    """
    numbers = ("shown", "value", "shown_uncertainty", "value_uncertainty")
    if source is None:
        return no_rows(CORRELATIONS, numbers), []
    frame, faults = read_small(source, CORRELATIONS, numbers=numbers, signed=numbers[:2])
    bad = pd.Series(False, index=frame.index)
    for column, code, where in (
        ("correlation", "unknown_correlation", ~frame["correlation"].isin(list(stated))),
        ("shown", "shown_not_positive", frame["shown"] <= 0),
        ("value", "reference_not_positive", frame["value"] <= 0),
    ):
        faults += faults_where(source, frame, column, where, code)
        bad |= where
    return frame.loc[~bad].reset_index(drop=True), faults
