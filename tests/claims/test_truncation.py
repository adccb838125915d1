"""What was never kept is said beside every verdict, and a share it hides is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest

from workbench.claims.codes import REASONS, WARNINGS
from workbench.records.truncation_table import Truncation


def entry(**given: object) -> Truncation:
    keys = {"quantity": "deck_thickness", "unit": "mm", "note": "scrapped", "kept_from": 10.0}
    return Truncation.model_validate(keys | given)


@pytest.fixture
def judged(lab):
    """Judge one claim on two families of which something was never kept."""
    parts = [
        lab.readings(family, mean, blocks=8, gauge="ug1")
        for family, mean in (("trophy", 12.0), ("works", 11.0))
    ]
    cells = lab.cells(*parts)

    def verdict(*entries: Truncation, **fields: object):  # type: ignore[no-untyped-def]
        lab.settings = replace(lab.settings, truncations=entries)
        return lab.verdict(cells, **fields)

    return verdict


def said(verdict) -> list[str]:
    return [threat.text for threat in verdict.warnings if threat.code == "truncated"]


def test_nothing_is_said_where_all_was_kept(judged) -> None:
    assert said(judged()) == []
    assert said(judged(entry(quantity="wall_thickness"), entry(family="export"))) == []
    assert said(judged(entry(gauge="ug2"))) == []  # with which nothing of these was read


def test_the_verdict_is_the_same_and_says_what_it_rests_on(judged) -> None:
    plain, warned = judged(), judged(entry(family="works"))
    assert (warned.outcome, warned.estimate, warned.low) == (
        plain.outcome,
        plain.estimate,
        plain.low,
    )
    (text,) = said(warned)
    assert text.startswith("Of the works blocks no reading below 10 mm was kept (scrapped).")
    assert "the mean of what is left lies too high for what was cast" in text


def test_both_families_are_named_once(judged) -> None:
    (text,) = said(judged(entry(gauge="ug1")))
    assert text.startswith("Of the trophy and the works blocks no reading below 10 mm by “ug1”")


@pytest.mark.parametrize(
    ("ends", "fields", "effect"),
    [
        ({"kept_from": None, "kept_to": 13.0}, {}, "the mean of what is left lies too low"),
        ({"kept_to": 13.0}, {}, "the mean of what is left is not that of what was cast"),
        ({}, {"figure": "spread"}, "what is left varies less than what was cast"),
        ({}, {"figure": "thinnest"}, "the thinnest place of what is left lies too high"),
        (
            {},
            {"figure": "share_below", "threshold": 11.0, "direction": "less"},
            "the share of what is left is too small",
        ),
        (
            {"kept_from": None, "kept_to": 13.0},
            {"figure": "share_below", "threshold": 11.0, "direction": "less"},
            "the share of what is left is too large",
        ),
    ],
)
def test_which_way_what_is_left_is_off(judged, ends, fields, effect) -> None:
    (text,) = said(judged(entry(**ends), **fields))
    assert effect in text


def test_sorted_blocks_matter_to_families_and_not_to_the_blocks_measured(judged) -> None:
    (text,) = said(judged(entry(of="blocks")))
    assert "blocks with a reading below 10 mm were sorted out before they were measured" in text
    assert "rests on the blocks that were kept" in text
    assert said(judged(entry(of="blocks"), scope="block")) == []


@pytest.mark.parametrize("of", ["readings", "blocks"])
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_a_share_below_what_was_kept_is_refused(judged, of, unit) -> None:
    scale = 1.0 if unit == "mm" else 25.4
    asked = {"figure": "share_below", "direction": "less", "unit": unit}
    verdict = judged(entry(of=of, family="works"), threshold=10.0 / scale, **asked)
    assert verdict.outcome == "unresolved"
    assert verdict.estimate != verdict.estimate  # no number without an interval
    assert "Of works blocks nothing below" in verdict.sentence
    assert "none of what was kept does" in verdict.sentence
    assert "a threshold within what was kept" in verdict.next_step
    codes = [threat.code for threat in verdict.warnings]
    assert {"limit_not_kept", "truncated"} <= set(codes)
    answered = judged(entry(of=of, family="works"), threshold=11.0 / scale, **asked)
    assert answered.estimate == answered.estimate


def test_a_gauge_beside_that_shows_more_answers(lab) -> None:
    """One gauge is blind under 10 mm, the other is not: the share is counted, with a warning."""
    parts = [
        lab.readings(family, mean, blocks=8, seed=seed, gauge=gauge, stations=(station,))
        for family, mean in (("trophy", 10.4), ("works", 10.2))
        for seed, gauge, station in ((1, "ug1", "front"), (2, "ug2", "rear"))
    ]
    lab.settings = replace(lab.settings, truncations=(entry(gauge="ug1"),))
    asked = {"figure": "share_below", "direction": "less", "threshold": 10.0}
    verdict = lab.verdict(lab.cells(*parts), **asked)
    assert verdict.estimate == verdict.estimate
    assert len(said(verdict)) == 1


def test_codes_are_listed() -> None:
    assert "truncated" in WARNINGS
    assert "limit_not_kept" in REASONS
