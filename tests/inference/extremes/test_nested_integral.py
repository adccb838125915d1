"""The expected thinnest place: a table of extremes, quadrature, and steps of any length."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import ndtr

from workbench.inference.extremes.nested_integral import Parameters, expected_thinnest

# Expected largest of n standard normals: Pearson and Hartley, Biometrika Tables for Statisticians,
# table 28 (from memory).
LARGEST = {2: 0.56419, 5: 1.16296, 10: 1.53875, 20: 1.86748, 50: 2.24907, 100: 2.50759}


def rows(place, bore, pattern, mean=0.0, block=0.0):
    pattern = np.atleast_2d(pattern)
    many = len(pattern)
    return Parameters(
        mean=np.full(many, mean),
        pattern=pattern,
        block=np.full(many, block),
        bore=np.full(many, bore),
        place=np.full(many, place),
    )


@pytest.mark.parametrize("place", [1.0, 0.8, 0.6, 0.2, 0.05])
@pytest.mark.parametrize("bores", LARGEST)
def test_against_the_table_of_extremes_with_one_place_a_bore(bores, place) -> None:
    """One place a bore: a bore's height and a place's are one normal, however it is parted."""
    found = expected_thinnest(rows(place, np.sqrt(1 - place**2), [0.0], mean=5.0), bores)
    assert found == pytest.approx(5 - LARGEST[bores], abs=1e-5)


@pytest.mark.parametrize("places", [5, 10, 20, 50, 100])
def test_against_the_table_of_extremes_with_one_bore(places) -> None:
    """Bores move all their places alike, which is nought on average; so do blocks."""
    for bore in (0.0, 0.5, 2.0):
        found = expected_thinnest(rows(1.0, bore, np.zeros(places), block=3.0), 1)
        assert found == pytest.approx(-LARGEST[places], abs=1e-5)


@pytest.mark.parametrize(
    ("place", "bore", "places", "bores"),
    [(0.3, 0.2, 12, 4), (0.1, 0.3, 12, 4), (0.2, 0.02, 4, 6), (0.5, 0.25, 60, 12)],
)
def test_against_quadrature(place, bore, places, bores) -> None:
    pattern = 0.2 * np.sin(np.arange(places) * 2.4)
    pattern -= pattern.mean()
    nodes, weights = np.polynomial.hermite_e.hermegauss(61)

    def all_above(limit):
        at = pattern + bore * nodes[:, None]
        whole = np.prod(ndtr((at - limit) / place), axis=1) @ weights / weights.sum()
        return whole**bores

    up = quad(all_above, 0, 5, epsabs=1e-10, limit=200)[0]
    down = quad(lambda limit: 1 - all_above(limit), -8, 0, epsabs=1e-10, limit=200)[0]
    found = expected_thinnest(rows(place, bore, pattern), bores)[0]
    total = np.sqrt(place**2 + bore**2 + pattern.var())
    assert found == pytest.approx(up - down, abs=1e-5 * total)


def test_rows_stand_alone() -> None:
    """The step fits the narrowest row of those worked out at once; no answer hangs on it."""
    generator = np.random.default_rng(4)
    pattern = 0.1 * generator.standard_normal((20, 6))
    wide, narrow = rows(0.3, 0.3, pattern), rows(0.05, 0.01, pattern[:1])
    both = Parameters(
        **{
            name: np.concatenate([getattr(wide, name), getattr(narrow, name)])
            for name in ("mean", "pattern", "block", "bore", "place")
        }
    )
    assert expected_thinnest(both, 4)[:20] == pytest.approx(expected_thinnest(wide, 4), abs=1e-6)
