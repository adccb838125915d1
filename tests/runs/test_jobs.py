"""In which order the jobs of a run start, and what a judgement that fails leaves running."""

from __future__ import annotations

import asyncio
import threading
from typing import Any

import pytest

from workbench.runs.jobs import Done, close_loop, run_all
from workbench.runs.plan import Job, shipped_notebooks

WAIT = 20.0


def job(name: str, *, after: bool, claim: str | None = None) -> Job:
    return Job(
        name=name,
        title=name,
        notebook=name,
        claim=claim,
        parameters={},
        source=None,
        after_judging=after,
    )


def done(one: Job) -> Done:
    return Done(job=one, failure=None, seconds=0.0)


PLAN = (
    job("measuring", after=True),
    job("records", after=False),
    job("claim-a", after=True, claim="a"),
    job("claim-b", after=True, claim="b"),
    job("worth", after=False),
    job("summary", after=True),
)


def test_what_waits_for_the_judgement_starts_after_it_and_single_claims_last() -> None:
    seen: list[str] = []

    def run(one: Job) -> Done:
        seen.append(one.name)
        return done(one)

    def judge() -> Any:
        while len(seen) < 2:  # those that need no judgement are run meanwhile
            threading.Event().wait(0.01)
        seen.append("judged")
        return "the judgement"

    judgement, ended = run_all(PLAN, run, judge, at_a_time=1)
    assert judgement == "the judgement"
    assert seen == ["records", "worth", "judged", "measuring", "summary", "claim-a", "claim-b"]
    assert [one.job.name for one in ended] == [one.name for one in PLAN]


def test_nothing_more_starts_when_judging_fails() -> None:
    began, go = threading.Event(), threading.Event()
    seen: list[str] = []

    def run(one: Job) -> Done:
        seen.append(one.name)
        began.set()
        go.wait(WAIT)
        return done(one)

    def judge() -> Any:
        assert began.wait(WAIT)
        raise OSError("no room")

    with pytest.raises(OSError, match="no room"):
        run_all(PLAN, run, judge, at_a_time=1)
    go.set()
    assert seen == ["records"]


def test_a_run_of_nothing_is_judged_all_the_same() -> None:
    judged: Any = object()
    assert run_all((), done, lambda: judged, at_a_time=0) == (judged, [])


def test_what_shows_verdicts_waits_for_them() -> None:
    waiting = {book.name for book in shipped_notebooks() if book.after_judging}
    source = {book.name: book.path.read_text(encoding="utf-8") for book in shipped_notebooks()}
    shows = {name for name, text in source.items() if ".judge(" in text}
    by_way_of_a_view = {"measuring", "plan"}
    assert waiting == shows | by_way_of_a_view


def test_what_still_waits_in_a_loop_ends_before_it_is_closed() -> None:
    loop = asyncio.new_event_loop()
    asyncio.set_event_loop(loop)
    try:
        waiting = loop.create_task(asyncio.sleep(600))
        loop.run_until_complete(asyncio.sleep(0))
        assert not waiting.done()
        close_loop()
        assert waiting.cancelled()
        assert loop.is_closed()
        close_loop()  # a second time there is nothing to do
    finally:
        asyncio.set_event_loop(None)
