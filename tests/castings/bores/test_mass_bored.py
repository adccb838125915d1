import math

import pytest

from workbench.castings.bores.mass_bored import mass_removed
from workbench.errors import Refusal
from workbench.records.settings import Drawing

PLAN = Drawing(bores=4, bore_diameter=86.0, bore_length=140.0)


def test_mass_is_that_of_four_thin_tubes() -> None:
    """Mean circumference times wall times length, exact for a tube."""
    by_hand = 4 * math.pi * 86.5 * 0.5 * 140 / 1000 * 7.2 / 1000
    assert mass_removed(PLAN, "mm", 1.0, 7.2) == pytest.approx(by_hand)
    assert mass_removed(PLAN, "mm", 1.0, 7.2, bores=1) == pytest.approx(by_hand / 4)
    assert mass_removed(PLAN, "mm", 0.0, 7.2) == 0


def test_units_do_not_matter() -> None:
    inches = Drawing(unit="in", bores=4, bore_diameter=86 / 25.4, bore_length=140 / 25.4)
    assert mass_removed(inches, "in", 1 / 25.4, 7.2) == pytest.approx(
        mass_removed(PLAN, "mm", 1.0, 7.2)
    )


def test_refusals() -> None:
    for drawing in (None, Drawing(bores=4, bore_diameter=86.0), Drawing(bore_length=140.0)):
        with pytest.raises(Refusal, match="bore_diameter and bore_length"):
            mass_removed(drawing, "mm", 1.0, 7.2)
    with pytest.raises(Refusal, match="no room"):
        mass_removed(PLAN, "mm", -0.1, 7.2)
