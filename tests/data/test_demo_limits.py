"""Limits and checks of distributions on the demo, held to castings drawn from the planted truth."""

from __future__ import annotations

from collections.abc import Callable
from types import ModuleType

import numpy as np
import pytest

from workbench.castings.family_limits import Limit
from workbench.castings.family_places import family_places
from workbench.castings.family_readings import family_readings
from workbench.castings.family_shape import FamilyShape, family_shape
from workbench.inference.estimates import Estimate
from workbench.inference.tolerance.limits import ToleranceInterval
from workbench.study import Study

CASTINGS = 600
QUANTITIES = ("wall_thickness", "deck_thickness")
FAMILIES = ("works", "deepdeck")
ASKED = [(quantity, family) for quantity in QUANTITIES for family in FAMILIES]


@pytest.fixture(scope="module")
def shapes(shipped_study: Callable[[str], Study]) -> dict[tuple[str, str], FamilyShape]:
    study = shipped_study("demo")
    found = {}
    for quantity in QUANTITIES:
        given = (study.settings, study.calibrations, quantity, "mm")
        places, _ = family_places(study.records.cells, *given)
        readings = family_readings(study.records, *given)
        for family in FAMILIES:
            found[quantity, family] = family_shape(
                readings[family], places[family], confidence=0.95, seed=1
            )
    return found


@pytest.fixture(scope="module")
def planted(marlowe_four: ModuleType) -> dict[tuple[str, str], np.ndarray]:
    """The iron of further castings: a row a casting, a column a place."""
    return {
        (quantity, family): np.array(
            [
                list(
                    marlowe_four.iron(
                        marlowe_four.Block(
                            name=f"later-{at}", family=family, number=1, period=1, day=""
                        ),
                        quantity,
                    ).values()
                )
                for at in range(CASTINGS)
            ]
        )
        for quantity, family in ASKED
    }


def limit_of(shape: FamilyShape, what: str) -> Limit:
    return next(one for one in shape.limits if (one.what, one.how) == (what, "nested model"))


@pytest.mark.parametrize(("quantity", "family"), ASKED)
def test_further_castings_keep_the_limits(
    shapes: dict[tuple[str, str], FamilyShape],
    planted: dict[tuple[str, str], np.ndarray],
    quantity: str,
    family: str,
) -> None:
    """Promised are 95%; one study of 22 or 48 blocks may be a little off either way."""
    iron = planted[quantity, family]
    for what, values in (("mean of a block", iron.mean(axis=1)), ("single place", iron.ravel())):
        limit = limit_of(shapes[quantity, family], what)
        assert isinstance(limit.above, ToleranceInterval)
        assert isinstance(limit.following, Estimate)
        assert np.mean(values >= limit.above.low) > 0.94
        inside = np.mean((values >= limit.following.low) & (values <= limit.following.high))
        assert 0.90 < inside < 0.995


@pytest.mark.parametrize(("quantity", "family"), ASKED)
def test_one_normal_population_is_planted_and_none_other_is_claimed(
    shapes: dict[tuple[str, str], FamilyShape], quantity: str, family: str
) -> None:
    shape = shapes[quantity, family]
    assert shape.tested["normal"].counts == "grouped"
    deciding = shape.tested["normal"].deciding
    assert deciding is not None
    assert deciding.test("anderson-darling").p_value > 0.01
    assert shape.normality["block"].tests[0].p_value > 0.01
    assert shape.peaks is not None
    assert shape.peaks.p_value > 0.01
    assert shape.search is not None
    assert shape.search.suspects == ()
