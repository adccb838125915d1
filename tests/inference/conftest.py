"""Tables of invented walls, and every matrix of a mixed model written out, for slow second ways."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest


@dataclass
class Written:
    """V, its inverse W, X, (X'WX)^-1 and P over readings; `parts` are the V_r, residual first."""

    parts: list[np.ndarray]
    V: np.ndarray
    W: np.ndarray
    X: np.ndarray
    phi: np.ndarray
    P: np.ndarray

    @property
    def spread_of_components(self):
        return np.linalg.inv(
            np.array([[np.trace(self.P @ r @ self.P @ s) / 2 for s in self.parts]
                      for r in self.parts])
        )  # fmt: skip

    def criterion(self, y, *, restricted=True):
        found = np.linalg.slogdet(self.V)[1] + y @ self.P @ y + len(y) * np.log(2 * np.pi)
        if restricted:
            found += np.linalg.slogdet(self.X.T @ self.W @ self.X)[1]
            found -= self.X.shape[1] * np.log(2 * np.pi)
        return found


def indicators(labels):
    labels = np.asarray(labels, dtype=object)
    return (labels[:, None] == labels[None, :]).astype(float)


@pytest.fixture
def written():
    """Write out the model of `X` and label arrays (residual left out) at the variances `theta`."""

    def write(X, groups, theta):
        parts = [np.eye(len(X)), *(indicators(labels) for labels in groups)]
        return write_parts(X, parts, theta)

    return write


@pytest.fixture
def written_parts():
    return write_parts


def write_parts(X, parts, theta):
    V = np.tensordot(np.asarray(theta), parts, axes=1)
    W = np.linalg.inv(V)
    phi = np.linalg.inv(X.T @ W @ X)
    return Written(parts=parts, V=V, W=W, X=X, phi=phi, P=W - W @ X @ phi @ X.T @ W)


@pytest.fixture
def dummies():
    """An intercept and every level of each factor but its first, in the order of text."""

    def columns(table, factors):
        found = [np.ones(len(table))]
        for name in factors:
            labels = table[name].to_numpy()
            found += [labels == level for level in sorted(set(labels))[1:]]
        return np.column_stack(found).astype(float)

    return columns


@pytest.fixture
def walls():
    """An unbalanced table of two families, three stations and two depths."""

    def draw(seed, *, spread=(1.0, 0.6, 0.3), blocks=(4, 5), drop=0.3):
        rng = np.random.default_rng(seed)
        rows = []
        for family, many in zip("ab", blocks, strict=True):
            for number in range(many):
                block = rng.normal(0, spread[0])
                for bore in range(rng.integers(1, 5)):
                    wall = block + rng.normal(0, spread[1])
                    for station in "012":
                        for depth in "01":
                            value = wall + 0.2 * int(station) + rng.normal(0, spread[2])
                            if rng.random() > drop:
                                rows.append((family, f"{family}{number}", str(bore), station,
                                             depth, value))  # fmt: skip
        names = ["family", "block", "bore", "station", "depth", "wall"]
        return pd.DataFrame(rows, columns=names)

    return draw
