import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from workbench.errors import Refusal
from workbench.inference.directions.offset_program import best_offset, largest_cut

DEGREES = np.arange(0, 360, 15.0)


def searched(degrees, room, limit, clean_up, steps=160):
    """Try every offset of a fine grid: the largest cut allowed there."""
    reach = min(limit, float(np.abs(room).max()))
    axis = np.linspace(-reach, reach, steps + 1)
    x, y = (part.ravel() for part in np.meshgrid(axis, axis))
    turn = np.radians(degrees)
    cut = (room - np.outer(x, np.cos(turn)) - np.outer(y, np.sin(turn))).min(axis=1)
    allowed = (np.hypot(x, y) <= limit) & (np.hypot(x, y) <= cut - clean_up)
    return (cut[allowed].max() if allowed.any() else -math.inf), 2 * reach / steps


@given(st.integers(0, 10_000), st.sampled_from([0.0, 0.1, 0.3, 9.0]), st.sampled_from([0.0, 0.2]))
@settings(max_examples=30, deadline=None)
def test_against_every_offset_of_a_grid(seed, limit, clean_up) -> None:
    rng = np.random.default_rng(seed)
    room = 0.8 - 0.4 * np.cos(np.radians(DEGREES - rng.uniform(0, 360))) + rng.normal(0, 0.1, 24)
    found = largest_cut(DEGREES, room, limit=limit, clean_up=clean_up)
    brute, step = searched(DEGREES, room, limit, clean_up)
    if found.cut < clean_up:  # no cut cleans up: the centre stays
        assert brute == -math.inf
        assert (found.size, found.cut) == (0, room.min())
        return
    assert found.cut >= brute - 2e-4 * (1 + limit)
    assert found.cut <= max(brute, clean_up) + 1.5 * step
    assert found.size <= min(limit, max(found.cut - clean_up, 0)) + 1e-9
    turn = np.radians(DEGREES)
    left = room - found.cut - found.x * np.cos(turn) - found.y * np.sin(turn)
    assert left.min() == pytest.approx(0, abs=1e-9)


@given(st.integers(0, 10_000), st.sampled_from([0.0, 0.05, 0.2, math.inf]), st.floats(-0.5, 0.3))
@settings(max_examples=60, deadline=None)
def test_against_the_linear_program_of_scipy(seed, limit, clean_up) -> None:
    """The circle stands in it as 2000 tangents, so its answer is too high by 2e-6 of the offset."""
    rng = np.random.default_rng(seed)
    degrees = np.concatenate([[0.0, 120.0, 240.0], rng.uniform(0, 360, rng.integers(0, 60))])
    room = rng.uniform(-0.2, 1) - rng.uniform(0, 0.6) * np.cos(np.radians(degrees - 50))
    room = room + rng.normal(0, 0.15, degrees.size)
    turn, edge = np.radians(degrees), np.linspace(0, 2 * np.pi, 2000, endpoint=False)
    across, along = np.ones(degrees.size), np.column_stack([np.cos(edge), np.sin(edge)])
    rows = [np.column_stack([np.cos(turn), np.sin(turn), across])]
    rows.append(np.column_stack([along, np.full(2000, -1.0)]))
    bounds = [room, np.full(2000, -clean_up)]
    if math.isfinite(limit):
        rows.append(np.column_stack([along, np.zeros(2000)]))
        bounds.append(np.full(2000, limit))
    known = linprog(
        [0, 0, -1], A_ub=np.vstack(rows), b_ub=np.concatenate(bounds), bounds=(None, None)
    )
    found = largest_cut(degrees, room, limit=limit, clean_up=clean_up)
    if known.status == 2:
        assert (found.size, found.cut) == (0, room.min())
        return
    assert found.cut == pytest.approx(known.x[2], abs=1e-5)
    assert found.cut <= known.x[2] + 1e-9
    left = room - found.cut - found.x * np.cos(turn) - found.y * np.sin(turn)
    assert left.min() >= -1e-9
    assert found.size <= min(limit, found.cut - clean_up) + 1e-9


def test_a_shifted_ring_is_cut_about_its_own_centre() -> None:
    """room = m - s cos(angle - a): move by s against the shift, and m is cut."""
    room = 1.0 - 0.3 * np.cos(np.radians(DEGREES - 30))
    found = largest_cut(DEGREES, room, limit=math.inf)
    assert (found.cut, found.size, found.direction) == pytest.approx((1.0, 0.3, 210))
    half = largest_cut(DEGREES, room, limit=0.15)
    assert half.cut == pytest.approx(0.85, abs=2e-4)
    none = largest_cut(DEGREES, room, limit=0.0)
    assert (none.cut, none.size) == (pytest.approx(room.min()), pytest.approx(0, abs=1e-12))


def test_an_offset_must_leave_nothing_of_the_old_circle() -> None:
    """With 0.1 of mean room and a shift of 0.3 the offset is limited to the cut itself.

    h = 0.1 - 0.3 + |o| with |o| <= h has no solution above 0.
    """
    thin = 0.1 - 0.3 * np.cos(np.radians(DEGREES))
    found = largest_cut(DEGREES, thin, limit=math.inf)
    assert (found.cut, found.size) == (pytest.approx(-0.2), 0)
    even = 0.4 - 0.3 * np.cos(np.radians(DEGREES))
    found = largest_cut(DEGREES, even, limit=math.inf, clean_up=0.05)
    assert found.cut == pytest.approx(0.4, abs=1e-3)
    tight = largest_cut(DEGREES, even, limit=math.inf, clean_up=0.2)
    assert (tight.cut, tight.size) == (pytest.approx(0.1), 0)


def test_exact_cut_is_never_deeper_than_the_first_order() -> None:
    r, h, x, y = 43.0, 0.5, 0.25, -0.2
    turn = np.radians(DEGREES)
    along = x * np.cos(turn) + y * np.sin(turn)
    across = x * np.sin(turn) - y * np.cos(turn)
    exact = along + np.sqrt((r + h) ** 2 - across**2) - r
    assert (exact <= h + along + 1e-12).all()
    assert (h + along - exact).max() <= (x * x + y * y) / (2 * (r + h)) + 1e-9


@given(st.integers(0, 1000), st.floats(0, 1), st.sampled_from([0.0, 0.2, math.inf]))
@settings(max_examples=25, deadline=None)
def test_best_offset_of_a_given_cut(seed, cut, limit) -> None:
    rng = np.random.default_rng(seed)
    room = 0.8 + rng.normal(0, 0.3, 24)
    found = best_offset(DEGREES, room, cut=cut, limit=limit)
    turn = np.radians(DEGREES)
    left = room - cut - found.x * np.cos(turn) - found.y * np.sin(turn)
    assert left.min() == pytest.approx(found.least, abs=1e-9)
    assert found.least >= (room - cut).min() - 1e-9
    assert found.size <= limit + 1e-9
    more = best_offset(DEGREES, room + 0.25, cut=cut + 0.25, limit=limit)
    assert more.least == pytest.approx(found.least, abs=1e-9)


def test_refusals() -> None:
    with pytest.raises(Refusal, match="limited to 0 or more, not to -1"):
        largest_cut(DEGREES, np.ones(24), limit=-1)
    with pytest.raises(Refusal, match="finite"):
        best_offset(DEGREES, np.full(24, np.nan), cut=0.0, limit=1.0)
    with pytest.raises(Refusal, match="limited to"):
        best_offset(DEGREES, np.ones(24), cut=0.0, limit=math.nan)
