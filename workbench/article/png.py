"""Drawn pixels as a PNG file (W3C recommendation, third edition), written for drawings.

A drawing is mostly one colour, so its rows are left as they are: the row filters made for
photographs take twice the time here and give a file no smaller.
"""

from __future__ import annotations

import struct
import zlib

import numpy as np
from numpy.typing import NDArray

SIGNATURE = b"\x89PNG\r\n\x1a\n"
EIGHT_BITS, TRUE_COLOUR, NO_FILTER, PER_METRE = 8, 2, 0, 1
COLOURS = 3
EFFORT = 3  # of deflate's nine: the last that does not search for later, longer matches
INCH = 0.0254  # m


def png(pixels: NDArray[np.uint8], *, dpi: float, description: str) -> bytes:
    """Give `pixels` as a PNG file, the same bytes for the same pixels.

    Parameters
    ----------
    pixels
        Rows of red, green, blue and whatever follows, which is left out.
    dpi
        Pixels an inch.
    description
        The picture in words, kept in the file as its `Description`.

    Raises
    ------
    ValueError
        When there is no pixel, or one is not made of three bytes or more.
    """
    if pixels.dtype != np.uint8 or pixels.ndim != 3 or pixels.shape[2] < COLOURS or not pixels.size:
        raise ValueError(f"A picture is rows of coloured bytes, not {pixels.dtype} {pixels.shape}.")
    height, width = pixels.shape[:2]
    rows = np.full((height, 1 + COLOURS * width), NO_FILTER, dtype=np.uint8)
    for colour in range(COLOURS):  # one by one: numpy copies long rows faster than triples
        rows[:, 1 + colour :: COLOURS] = pixels[:, :, colour]
    metre = round(dpi / INCH)
    return SIGNATURE + b"".join(
        (
            _chunk(
                b"IHDR", struct.pack(">IIBBBBB", width, height, EIGHT_BITS, TRUE_COLOUR, 0, 0, 0)
            ),
            _chunk(b"iTXt", b"Description" + bytes(5) + description.encode()),
            _chunk(b"pHYs", struct.pack(">IIB", metre, metre, PER_METRE)),
            _chunk(b"IDAT", zlib.compress(rows.tobytes(), EFFORT)),
            _chunk(b"IEND", b""),
        )
    )


def _chunk(kind: bytes, data: bytes) -> bytes:
    """Give one part of the file: its length, kind, data and check sum."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
