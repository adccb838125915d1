"""PNG files, read back by Pillow, which wrote none of them."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from workbench.article.png import png

RNG = np.random.default_rng(7)


def read(data: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(data))
    image.verify()  # the check sum of every part
    return Image.open(io.BytesIO(data))


@pytest.mark.parametrize("shape", [(1, 1, 3), (5, 3, 4), (64, 97, 4), (3, 500, 3)])
def test_every_pixel_comes_back(shape: tuple[int, int, int]) -> None:
    pixels = RNG.integers(0, 256, shape, dtype=np.uint8)
    image = read(png(pixels, dpi=120, description="noise"))
    assert (image.mode, image.size) == ("RGB", (shape[1], shape[0]))
    assert np.array_equal(np.asarray(image), pixels[:, :, :3])


def test_pixels_need_not_lie_in_one_piece() -> None:
    pixels = RNG.integers(0, 256, (20, 30, 4), dtype=np.uint8)
    turned = pixels[::-1, ::2]
    assert np.array_equal(np.asarray(read(png(turned, dpi=72, description="x"))), turned[:, :, :3])


def test_words_and_size_are_in_the_file() -> None:
    words = "Walls of 3 blocks: 2.67 mm (2.42 to 2.92), “deck” µ – Größe"
    image = read(png(np.zeros((2, 2, 4), dtype=np.uint8), dpi=300, description=words))
    assert image.text == {"Description": words}
    assert image.info["dpi"] == pytest.approx((300, 300), rel=1e-4)


def test_the_same_pixels_give_the_same_bytes() -> None:
    pixels = RNG.integers(0, 256, (50, 40, 4), dtype=np.uint8)
    assert png(pixels, dpi=120, description="d") == png(pixels.copy(), dpi=120, description="d")


def test_a_drawing_is_a_fraction_of_its_pixels() -> None:
    pixels = np.full((600, 900, 4), 255, dtype=np.uint8)
    pixels[100:500, 450:453] = 0
    assert len(png(pixels, dpi=120, description="a line")) < pixels.size / 200


@pytest.mark.parametrize(
    "pixels",
    [
        np.zeros((4, 4), dtype=np.uint8),
        np.zeros((4, 4, 2), dtype=np.uint8),
        np.zeros((0, 4, 4), dtype=np.uint8),
        np.zeros((4, 4, 4)),
    ],
)
def test_what_is_no_picture_is_refused(pixels: np.ndarray) -> None:
    with pytest.raises(ValueError, match="rows of coloured bytes"):
        png(pixels, dpi=120, description="x")
