"""Features seen by eye: the share of blocks that show one, and agreement of those who looked.

Looks are written to a study and read back, so that words and cells are those of the records.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from statsmodels.stats.inter_rater import cohens_kappa, to_table
from statsmodels.stats.proportion import proportion_confint

from workbench.article.feature_tables import features_table
from workbench.castings.observers import (
    feature_agreements,
    feature_shares,
    share_with,
    sound_looks,
)
from workbench.errors import Refusal
from workbench.study import Study, open_study

SETTINGS = """
title = "Invented"
[quantities.web]
label = "fourth web"
kind = "feature"
[quantities.gallery]
label = "oil gallery"
kind = "feature"
levels = ["rough", "fair", "good", "smooth", "polished"]
"""
CLAIM = (
    '[[claim]]\nid = "a"\nstatement = "s"\nquantity = "web"\ncandidate = "f"\nreference = "g"\n'
    'direction = "greater"\nunit = "share"\n'
)
Look = tuple[str, str, str, str]  # block, quantity, observer, what was seen
Maker = Callable[[Iterable[Look]], Study]


@pytest.fixture
def study(tmp_path: Path) -> Maker:
    def made(looks: Iterable[Look]) -> Study:
        lines = ["block,family,quantity,value,unit,operator,repeat,sampling,contact"]
        for block, quantity, observer, seen in looks:
            family = "g" if block.startswith("G") else "f"
            lines.append(f"{block},{family},{quantity},{seen},,{observer},,,")
        (tmp_path / "study.toml").write_text(SETTINGS)
        (tmp_path / "claims.toml").write_text(CLAIM)
        (tmp_path / "readings.csv").write_text("\n".join(lines) + "\n")
        return open_study(tmp_path)

    return made


def webs(yes: int, of: int) -> list[Look]:
    return [(f"F{at:03d}", "web", "north", "yes" if at < yes else "no") for at in range(of)]


# Newcombe (1998), Statistics in Medicine 17:857-872, table I: Wilson (method 3) and Clopper-Pearson
# (method 5) at 95 %. From memory; statsmodels gives the same.
NEWCOMBE = {
    (81, 263): ((0.2553, 0.3662), (0.2527, 0.3676)),
    (15, 148): ((0.0624, 0.1605), (0.0578, 0.1617)),
    (1, 29): ((0.0061, 0.1718), (0.0009, 0.1776)),
    (0, 20): ((0.0000, 0.1611), (0.0000, 0.1684)),
}


@pytest.mark.parametrize("counts", NEWCOMBE)
def test_the_share_of_blocks_against_newcombe(study: Maker, counts: tuple[int, int]) -> None:
    made = study(webs(*counts))
    (found,) = feature_shares(made.records.cells, made.settings)
    assert found.count is not None
    assert (found.count.yes, found.count.of, found.tied) == (*counts, ())
    for ends, printed, method in zip(
        (found.wilson, found.clopper_pearson), NEWCOMBE[counts], ("wilson", "beta"), strict=True
    ):
        assert ends is not None
        assert (ends.low, ends.high) == pytest.approx(printed, abs=5e-5)
        assert (ends.low, ends.high) == pytest.approx(proportion_confint(*counts, method=method))


def test_a_block_counts_once_by_most_of_its_looks(study: Maker) -> None:
    looks = [
        ("F1", "web", observer, seen)
        for observer, seen in (("a", "yes"), ("b", "yes"), ("c", "no"))
    ]
    looks += [("F2", "web", "a", "yes"), ("F2", "web", "b", "no"), ("F3", "web", "a", "no")]
    made = study(looks)
    (found,) = feature_shares(made.records.cells, made.settings)
    assert found.count is not None
    assert (found.count.yes, found.count.of) == (1, 2)
    assert found.tied == ("F2",)


def test_graded_blocks_are_counted_below_each_level(study: Maker) -> None:
    """One dissenting observer of three does not move a block below or above a level."""
    grades = {"F1": "rfg", "F2": "sss", "F3": "ggs", "F4": "rrs"}
    words = {"r": "rough", "f": "fair", "g": "good", "s": "smooth"}
    made = study(
        (block, "gallery", observer, words[seen])
        for block, row in grades.items()
        for observer, seen in zip("abc", row, strict=True)
    )
    shares = feature_shares(made.records.cells, made.settings)
    counted = {of.below: of.count.yes for of in shares if of.count}
    assert counted == {1: 1, 2: 2, 3: 3, 4: 4}
    rows = features_table(shares, (), made.settings).rows
    assert rows[2][:4] == ("Oil gallery, below “smooth”", "f", "3 of 4", "75%")


def test_what_is_doubtful_or_hunted_for_does_not_count(tmp_path: Path, study: Maker) -> None:
    made = study(webs(3, 5))
    text = (tmp_path / "readings.csv").read_text()
    text += "F000,f,web,no,,south,,,doubtful\nF000,f,web,no,,east,,search,\n"
    (tmp_path / "readings.csv").write_text(text)
    again = open_study(tmp_path)
    assert feature_shares(again.records.cells, again.settings) == feature_shares(
        made.records.cells, made.settings
    )


def test_shares_are_refused_where_they_mean_nothing(study: Maker) -> None:
    made = study([*webs(1, 3), ("F1", "gallery", "a", "fair")])
    known = made.settings.quantities
    looks = sound_looks(made.records.cells, known["gallery"])
    with pytest.raises(Refusal, match="have an order and no size"):
        share_with(looks, known["gallery"], "f", 0.95)
    for threshold in (0, -1, 5):
        with pytest.raises(Refusal, match="go from 0 to 4"):
            share_with(looks, known["gallery"], "f", 0.95, threshold)
    tied = study([("F1", "web", "a", "yes"), ("F1", "web", "b", "no")])
    (found,) = feature_shares(tied.records.cells, tied.settings)
    assert (found.count, found.wilson, found.tied) == (None, None, ("F1",))


# Fleiss (1971), Psychological Bulletin 76:378-382 is the method; the table is the worked example of
# textbooks and encyclopaedias (from memory): 10 things, 14 observers, 5 grades, kappa 0.210.
FLEISS = (
    (0, 0, 0, 0, 14), (0, 2, 6, 4, 2), (0, 0, 3, 5, 6), (0, 3, 9, 2, 0), (2, 2, 8, 1, 1),
    (7, 7, 0, 0, 0), (3, 2, 6, 3, 0), (2, 5, 3, 2, 2), (6, 5, 2, 1, 0), (0, 2, 2, 3, 7),
)  # fmt: skip
LEVELS = ("rough", "fair", "good", "smooth", "polished")


def test_several_observers_against_the_worked_example(study: Maker) -> None:
    looks = []
    for thing, counts in enumerate(FLEISS):
        seen = [level for level, n in zip(LEVELS, counts, strict=True) for _ in range(n)]
        looks += [(f"F{thing}", "gallery", f"o{at:02d}", level) for at, level in enumerate(seen)]
    made = study(looks)
    (found,) = feature_agreements(made.records.cells, made.settings)
    assert found.kappa is not None
    assert found.kappa.estimate == pytest.approx(0.210, abs=5e-4)
    assert (found.kappa.things, len(found.observers)) == (10, 14)
    assert "F0" not in found.disagreeing


# Cohen (1960) is the method; 50 things, both yes 20, first alone 5, second alone 10, both no 15:
# the worked example of textbooks and encyclopaedias (from memory), kappa 0.40.
COHEN = {("yes", "yes"): 20, ("yes", "no"): 5, ("no", "yes"): 10, ("no", "no"): 15}


def cohen(first: str = "a", second: str = "b") -> list[Look]:
    pairs = [pair for pair, n in COHEN.items() for _ in range(n)]
    return [
        (f"F{at:02d}", "web", observer, seen)
        for at, pair in enumerate(pairs)
        for observer, seen in zip((first, second), pair, strict=True)
    ]


def test_two_observers_against_the_worked_example(study: Maker) -> None:
    made = study(cohen())
    (found,) = feature_agreements(made.records.cells, made.settings)
    assert found.kappa is not None
    assert found.kappa.estimate == pytest.approx(0.40, abs=1e-9)
    assert found.kappa.observed == pytest.approx(0.70)
    table, _ = to_table(np.array([list(pair) for pair, n in COHEN.items() for _ in range(n)]))
    witness = cohens_kappa(table)
    ends = found.kappa.interval(0.95)
    assert (ends.low, ends.high) == pytest.approx((witness.kappa_low, witness.kappa_upp))
    swapped = study(cohen("b", "a"))
    (other,) = feature_agreements(swapped.records.cells, swapped.settings)
    assert other.kappa is not None
    assert other.kappa.estimate == pytest.approx(found.kappa.estimate)


def test_grades_are_weighed_by_all_levels_also_those_nobody_gave(study: Maker) -> None:
    """Against statsmodels on the table of all five levels; “good” was given by nobody."""
    given = [(0, 0), (0, 1), (1, 1), (1, 3), (3, 3), (3, 3), (4, 3), (4, 4), (0, 4)]
    made = study(
        (f"F{at}", "gallery", observer, LEVELS[grade])
        for at, pair in enumerate(given)
        for observer, grade in zip("ab", pair, strict=True)
    )
    (found,) = feature_agreements(made.records.cells, made.settings)
    table = np.zeros((5, 5))
    for pair in given:
        table[pair] += 1
    assert found.kappa is not None
    assert found.kappa.estimate == pytest.approx(cohens_kappa(table, wt="linear").kappa)


def test_of_three_who_share_few_places_the_two_with_most_are_compared(study: Maker) -> None:
    looks = [look for look in cohen() if look[0] < "F30"]
    looks += [("F40", "web", "c", "yes"), ("F40", "web", "a", "no"), ("F41", "web", "c", "no")]
    made = study(looks)
    (found,) = feature_agreements(made.records.cells, made.settings)
    assert found.observers == ("a", "b")
    assert found.kappa is not None
    assert found.kappa.things == 30


def test_a_look_repeated_with_another_answer_is_no_agreement(study: Maker) -> None:
    looks = [*cohen(), ("F00", "web", "a", "no")]
    made = study(looks)
    (found,) = feature_agreements(made.records.cells, made.settings)
    assert found.kappa is not None
    assert found.kappa.things == 49


@pytest.mark.parametrize(
    ("looks", "why"),
    [
        (webs(2, 4), "no place was looked at by two observers"),
        (
            [(f"F{at}", "web", o, "yes") for at, o in product(range(5), "ab")],
            "Everything was given one grade",
        ),
        ([("F1", "web", o, "yes") for o in "ab"], "three|3"),
    ],
)
def test_without_a_kappa_it_is_said_why(study: Maker, looks: list[Look], why: str) -> None:
    made = study(looks)
    (found,) = feature_agreements(made.records.cells, made.settings)
    assert found.kappa is None
    assert any(part in found.why for part in why.split("|"))
