"""How often claims on a share below a limit are decided wrongly at their margin.

Run ``nice python tests/calibration/share_errors.py`` (two minutes of one processor); it writes
``share_errors.csv`` beside it. The margin is the true difference, so that a verdict either way is a
false alarm; at 95 % five in a hundred are promised. Blocks of 4 bores of 4 places: the candidate
varies as much as the reference, twice or half; block heights are normal, skewed to either side, or
of two pours, one block in seven thinner by two and a half deviations.
"""

from __future__ import annotations

import csv
import math
import sys
from collections.abc import Iterator
from dataclasses import astuple, dataclass, fields
from pathlib import Path
from zlib import crc32

import numpy as np

from workbench.inference.shares.in_blocks import shares_in_blocks

STUDIES, TRUTH = 600, 60_000
BORES, PATTERN = 4, np.array([0.05, -0.05, 0.05, -0.05])
MEAN, SPREADS = 4.6, (0.20, 0.12, 0.10)
BLOCKS = ((1, 12), (3, 12), (3, 50), (5, 5), (5, 12), (10, 10), (10, 50), (30, 30))
WIDER = (1.0, 2.0, 0.5)
SHAPES = ("normal", "skewed up", "skewed down", "two pours")
ASKED = (("places", 4.0), ("places", 4.15), ("blocks", 4.15))
THIN_POUR, DEEPER, REST = 0.15, 2.5, 0.45
RARE = 0.005  # shares below it in both families are not asked about


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """How often the interval of one design left out the truth."""

    candidate: int
    reference: int
    wider: float
    shape: str
    of: str
    limit: float
    candidate_share: float
    reference_share: float
    false_alarms: float
    error: float
    studies: int


def heights(rng: np.random.Generator, size: tuple[int, ...], shape: str) -> np.ndarray:
    """Draw block heights of mean 0 and variance 1."""
    if shape == "normal":
        return rng.standard_normal(size)
    if shape == "two pours":
        thin = rng.random(size) < THIN_POUR
        found = REST * rng.standard_normal(size) - DEEPER * (thin - THIN_POUR)
        return found / math.hypot(REST, DEEPER * math.sqrt(THIN_POUR * (1 - THIN_POUR)))
    found = (rng.gamma(4.0, size=size) - 4) / 2
    return found if shape == "skewed up" else -found


def families(
    rng: np.random.Generator, studies: int, blocks: int, wider: float, shape: str
) -> np.ndarray:
    """Draw a family of each study: by study, block, bore and place."""
    of_block, of_bore, of_place = (wider * one for one in SPREADS)
    found = MEAN + of_block * heights(rng, (studies, blocks), shape)[..., None, None]
    found = found + of_bore * rng.standard_normal((studies, blocks, BORES, 1))
    return found + PATTERN + of_place * rng.standard_normal((studies, blocks, BORES, PATTERN.size))


def shares(drawn: np.ndarray, of: str, limit: float) -> tuple[np.ndarray, int]:
    """Give each block's share below, and of how many."""
    below = drawn < limit
    if of == "blocks":
        return below.any(axis=(2, 3)).astype(float), 1
    return below.mean(axis=(2, 3)), BORES * PATTERN.size


def rows(
    blocks: tuple[int, int], wider: float, shape: str, studies: int = STUDIES
) -> Iterator[Row]:
    """Ask all shares of one design."""
    rng = np.random.default_rng(crc32(f"{blocks} {wider} {shape}".encode()))
    scales = (wider, 1.0)
    drawn = [
        families(rng, studies, many, scale, shape)
        for many, scale in zip(blocks, scales, strict=True)
    ]
    true = [families(rng, 1, TRUTH, scale, shape) for scale in scales]
    for of, limit in ASKED:
        known = [float(shares(one, of, limit)[0].mean()) for one in true]
        if max(known) < RARE:
            continue
        (ours, places), (others, _) = (shares(one, of, limit) for one in drawn)
        missed = [
            not shares_in_blocks(own, other, places=(places, places))
            .interval()
            .contains(known[0] - known[1])
            for own, other in zip(ours, others, strict=True)
        ]
        rate = float(np.mean(missed))
        yield Row(
            candidate=blocks[0],
            reference=blocks[1],
            wider=wider,
            shape=shape,
            of=of,
            limit=limit,
            candidate_share=round(known[0], 4),
            reference_share=round(known[1], 4),
            false_alarms=round(rate, 4),
            error=round(math.sqrt(max(rate * (1 - rate), 0.01) / studies), 4),
            studies=studies,
        )


def main() -> int:
    found = [
        row
        for blocks in BLOCKS
        for wider in WIDER
        for shape in SHAPES
        for row in rows(blocks, wider, shape)
    ]
    with Path(__file__).with_suffix(".csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow([field.name for field in fields(Row)])
        writer.writerows(astuple(row) for row in found)
    for blocks in BLOCKS:
        for wider in WIDER:
            some = [
                row.false_alarms
                for row in found
                if ((row.candidate, row.reference), row.wider) == (blocks, wider)
            ]
            print(f"{blocks[0]:>3} {blocks[1]:>3}  {wider:g}  {np.mean(some):.3f} {max(some):.3f}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
