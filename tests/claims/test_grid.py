"""The grid two families share: its size, whole blocks, least values and whom they weigh on."""

from __future__ import annotations

import numpy as np
import pytest

from workbench.claims.evidence import gather
from workbench.claims.grid import least_cells, shared_grid
from workbench.errors import Refusal

STATIONS = ("front", "thrust", "rear", "counter")


def evidence(lab, *parts):
    cells = lab.cells(*parts)
    return gather(cells, quantity="deck_thickness", candidate="trophy", reference="works",
                  unit="mm")  # fmt: skip


def test_repeats_and_gauges_of_a_place_are_one_place(lab):
    part = lab.readings("trophy", 12, stations=STATIONS, repeats=3)
    part["gauge"] = np.where(np.arange(len(part)) % 2, "ug1", "ug2")
    found = shared_grid(evidence(lab, part, lab.readings("works", 11, stations=STATIONS)))
    assert (found.bores, found.points, found.size) == (2, 4, 8)
    mine = found.places[found.places["family"] == "trophy"]
    known = part.assign(v=part["value"].round(2)).groupby(["block", "bore", "station"])["v"].mean()
    assert sorted(mine["value"]) == pytest.approx(sorted(known))
    assert mine["n"].eq(3).all()
    assert found.words == "4 places in each of 2 bores"


def test_the_least_cells_weigh_up_to_the_mean_least_value(lab):
    parts = (lab.readings("trophy", 12, blocks=5), lab.readings("works", 11, blocks=7))
    given = evidence(lab, *parts)
    weights, grid = least_cells(given), shared_grid(given)
    assert weights @ given.cells["mean"] == pytest.approx(
        grid.least("trophy").mean() - grid.least("works").mean()
    )
    assert weights[weights > 0].sum() == pytest.approx(1)
    assert weights[weights < 0].sum() == pytest.approx(-1)


def test_a_grid_without_bores_or_stations_is_one_place(lab):
    parts = [lab.table([(name, f"{name}{i}", 40 + i / 10) for i in range(3)], "family block value")
             for name in ("trophy", "works")]  # fmt: skip
    assert shared_grid(evidence(lab, *parts)).words == "one place of a block"


def test_a_family_read_nowhere_whole_is_refused(lab):
    ours = lab.readings("trophy", 12, blocks=4, stations=STATIONS)
    number = ours["block"].str[1:].astype(int) + ours["bore"].astype(int)
    ours = ours[ours["station"] != np.array(STATIONS)[number % 4]]
    with pytest.raises(Refusal, match="No block of trophy was read at nine tenths of the places"):
        shared_grid(evidence(lab, ours, lab.readings("works", 11, stations=STATIONS)))
