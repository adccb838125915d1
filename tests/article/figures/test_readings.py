"""Every reading, its block and its family."""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd
import pytest

from workbench.article.figures.readings import DOTS_A_FAMILY, readings
from workbench.article.sample import Sample

Maker = Callable[..., Sample]


def test_words_say_each_mean_with_interval_and_counts(sample_of_sizes: Maker) -> None:
    sample = sample_of_sizes({"works": 12, "trophy": 1})
    words = readings(sample).alt
    mean = sample.means["works"]
    assert mean.interval is not None
    assert (
        f"works: mean {mean.mean:.3f} ({mean.interval.low:.3f} to {mean.interval.high:.3f}) mm "
        "(12 blocks, 144 readings)"
    ) in words
    assert f"trophy: mean {sample.means['trophy'].mean:.3f} mm, no interval (1 block" in words
    assert "95%" in words


def test_readings_that_enter_no_mean_are_counted_in_the_caption(sample_of_sizes: Maker) -> None:
    assert (
        "2 readings (searched places, doubtful contact"
        in readings(sample_of_sizes({"works": 3, "trophy": 2})).caption
    )


def test_remembered_ranges_are_named_as_deciding_nothing(sample_of_sizes: Maker) -> None:
    caption = readings(sample_of_sizes({"works": 3}, remembered=True)).caption
    assert "remember; they decide nothing" in caption


def test_every_reading_is_a_dot_while_they_can_be_seen(sample_of_sizes: Maker) -> None:
    sample = sample_of_sizes({"works": 9})
    drawn = readings(sample).figure.axes[0].collections[0].get_offsets()
    assert len(drawn) == 9 * 12
    assert "Each dot is one reading" in readings(sample).caption


def test_a_million_readings_are_said_to_be_bundled(sample_of_sizes: Maker) -> None:
    sample = sample_of_sizes({"works": 9})
    sample.distinct["count"] *= 10_000
    picture = readings(sample)
    drawn = picture.figure.axes[0].collections[0].get_offsets()
    assert len(drawn) <= DOTS_A_FAMILY
    assert "Each dot stands for about 540 readings" in picture.caption


def test_families_keep_the_order_given(sample_of_sizes: Maker) -> None:
    picture = readings(sample_of_sizes({"zebra": 2, "alpha": 2, "mid": 2}))
    assert [t.get_text() for t in picture.figure.axes[0].get_yticklabels()] == [
        "zebra",
        "alpha",
        "mid",
    ]


def test_the_numbers_drawn_are_kept(sample_of_sizes: Maker) -> None:
    sample = sample_of_sizes({"works": 4, "trophy": 2})
    data = readings(sample).data
    assert data["kind"].value_counts().to_dict() == {
        "reading": len(sample.distinct),
        "block mean": 6,
        "family mean": 2,
    }
    means = data[data["kind"] == "family mean"].set_index("family")["value"]
    expected = sample.blocks.groupby("family")["mean"].mean()
    pd.testing.assert_series_equal(means.sort_index(), expected, check_names=False)


def test_a_mean_lies_where_its_words_say(sample_of_sizes: Maker) -> None:
    sample = sample_of_sizes({"works": 5})
    lines = readings(sample).figure.axes[0].get_lines()
    interval = sample.means["works"].interval
    assert interval is not None
    assert list(lines[0].get_xdata()) == pytest.approx([interval.low, interval.high])
