"""A picture carries its words, escapes them, and is the same in every process."""

from __future__ import annotations

import hashlib
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import lxml.etree
import lxml.html
import pytest

from workbench.article.figures.readings import readings
from workbench.article.picture import FORMATS, Picture
from workbench.article.sample import Sample

Maker = Callable[..., Sample]
DRAW = """
import hashlib, importlib.util, sys
spec = importlib.util.spec_from_file_location("made", sys.argv[1])
made = importlib.util.module_from_spec(spec)
spec.loader.exec_module(made)
from workbench.article.figures.readings import readings
picture = readings(made.make_sample(made.SIZES["hostile"], remembered=True), footer="seed 1")
for form in ("png", "svg", "pdf", "csv"):
    print(hashlib.sha256(picture.encoded(form)).hexdigest())
"""


@pytest.fixture(scope="module")
def picture(sample_of_sizes: Maker) -> Picture:
    return readings(sample_of_sizes({"<b>&'\"works": 3, "trophy": 2}), footer="seed 1")


def test_html_is_a_figure_with_escaped_words(picture: Picture) -> None:
    page = picture._repr_mimebundle_()
    (figure,) = lxml.html.fragment_fromstring(page["text/html"])
    assert figure.tag == "figure"
    assert [child.tag for child in figure] == ["img", "figcaption"]
    assert figure.find("img").get("alt") == picture.alt == page["text/plain"]
    assert figure.find("img").get("src").startswith("data:image/png;base64,")
    assert figure.find("figcaption").text == picture.caption
    assert "<b>" not in page["text/html"]


def test_same_bytes_in_two_processes() -> None:
    made = str(Path(__file__).with_name("conftest.py"))
    digests = [
        subprocess.run(
            [sys.executable, "-c", DRAW, made],
            capture_output=True,
            text=True,
            check=True,
            env={"PYTHONHASHSEED": seed, "SOURCE_DATE_EPOCH": epoch, "PATH": ""},
        ).stdout
        for seed, epoch in (("1", "0"), ("2", "1000000000"))
    ]
    assert digests[0] == digests[1]
    assert len(digests[0].split()) == 4


def test_drawing_leaves_the_readers_settings_and_random_numbers_alone(
    sample_of_sizes: Maker,
) -> None:
    import matplotlib
    import numpy as np

    before = dict(matplotlib.rcParams)
    state = np.random.get_state()[1].copy()  # noqa: NPY002
    readings(sample_of_sizes({"works": 3}))
    assert dict(matplotlib.rcParams) == before
    assert (np.random.get_state()[1] == state).all()  # noqa: NPY002


def test_the_readers_settings_do_not_change_the_picture(sample_of_sizes: Maker) -> None:
    import matplotlib

    sample = sample_of_sizes({"works": 3})
    plain = readings(sample)
    with matplotlib.rc_context({"font.size": 30, "lines.linewidth": 9, "savefig.dpi": 30}):
        assert readings(sample).png == plain.png


def test_save_writes_every_format_with_the_words_in_the_svg(
    picture: Picture, tmp_path: Path
) -> None:
    paths = picture.save(tmp_path / "new", "deck")
    assert [path.name for path in paths] == [f"deck.{form}" for form in FORMATS]
    starts = {"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF", "csv": b"kind,family"}
    for path in paths:
        assert path.read_bytes().startswith(starts[path.suffix[1:]])
    drawing = lxml.etree.parse(str(paths[1]))
    assert picture.alt in drawing.getroot().itertext()
    for form in ("svg", "pdf", "png"):
        first = (tmp_path / "new" / f"deck.{form}").read_bytes()
        assert hashlib.sha256(first).digest() == hashlib.sha256(picture.encoded(form)).digest()


@pytest.mark.parametrize("name", ["../out", "a/b", "", ".", ".."])
def test_save_stays_in_its_folder(picture: Picture, tmp_path: Path, name: str) -> None:
    with pytest.raises(ValueError, match="bare file name"):
        picture.save(tmp_path, name)


def test_save_refuses_other_formats(picture: Picture, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="png, svg, pdf, csv, not 'gif'"):
        picture.save(tmp_path, "a", ("gif",))


def test_a_picture_without_words_is_refused(picture: Picture) -> None:
    with pytest.raises(ValueError, match="alt is empty"):
        Picture(png=picture.png, alt=" ", caption="c", data=picture.data, figure=picture.figure)


def test_saved_numbers_do_not_run_in_a_spreadsheet(sample_of_sizes: Maker) -> None:
    picture = readings(sample_of_sizes({"=1+1": 2}))
    lines = picture.encoded("csv").decode().splitlines()[1:]
    assert lines
    assert all(line.split(",")[1] == "'=1+1" for line in lines)
