"""Many items run one after another: done ones left, failing ones told, the rest never stopped.

An item is one study, or one notebook with one set of parameters. Items are taken from an iterator
by a few threads, and of each only its record stays, on disk: what a batch needs of memory does not
grow with the number of its items.
"""

from __future__ import annotations

import json
import os
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from workbench.errors import WorkbenchError
from workbench.runs.batch_record import Record, page_of_records, read_record, write_record
from workbench.runs.manifest import to_text
from workbench.runs.progress import Progress
from workbench.runs.report_folder import Content

BATCH, INDEX = "batch.json", "index.html"
BATCH_FOLDER = Content(names=(BATCH,), key="batch")
FAILURES_KEPT = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One item: what it is about, the digest of all it is made from, and how it is run.

    `run` gives the words of a failure, empty where there was none; what it raises is one as well.
    `page` is its page, as seen from the folder of the batch.
    """

    name: str
    about: dict[str, Any]
    digest: str
    page: str
    run: Callable[[], str] = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchSummary:
    """What a batch came to; `failed` counts all failures, `failures` names the first of them."""

    index: Path
    done: int
    skipped: int
    failed: int
    failures: tuple[Record, ...]
    seconds: float


@dataclass(slots=True)
class Tally:
    """The counts while a batch runs; kept under one lock."""

    done: int = 0
    skipped: int = 0
    failed: int = 0
    failures: list[Record] = field(default_factory=list)

    def add(self, record: Record) -> None:
        """Count an item that has ended."""
        self.done += 1
        if record.failure:
            self.failed += 1
            if len(self.failures) < FAILURES_KEPT:
                self.failures.append(record)


def run_batch(
    items: Iterator[Item],
    out: Path,
    partial: Path,
    *,
    title: str,
    at_a_time: int,
    told: Progress,
) -> BatchSummary:
    """Run the items that are not done yet, and write what all came to.

    Parameters
    ----------
    items : iterator of Item
    out : Path
        The folder of the batch, locked by the caller.
    partial : Path
        A folder on the same disk for files not yet complete.
    title : str
        What the front page calls the batch.
    at_a_time : int
        Items at a time.
    told : Progress
    """
    begun = time.monotonic()
    write_state(out, partial, title, None)
    tally = Tally()
    take_all(items, out, partial, tally, at_a_time=at_a_time, told=told)
    write_state(out, partial, title, tally)
    page_of_records(out, partial / INDEX, title)
    os.replace(partial / INDEX, out / INDEX)
    return BatchSummary(
        index=out / INDEX,
        done=tally.done,
        skipped=tally.skipped,
        failed=tally.failed,
        failures=tuple(tally.failures),
        seconds=time.monotonic() - begun,
    )


def take_all(
    items: Iterator[Item],
    out: Path,
    partial: Path,
    tally: Tally,
    *,
    at_a_time: int,
    told: Progress,
) -> None:
    """Let a few threads take items until none is left, or the run is interrupted."""
    guard, stop = threading.Lock(), threading.Event()

    def work() -> None:
        while not stop.is_set():
            with guard:
                item = next(items, None)
            if item is None:
                return
            kept = read_record(out, item.name)
            if kept is not None and kept.digest == item.digest and not kept.failure:
                with guard:
                    tally.skipped += 1
                    told.skipped()
                continue
            record = ended(item)
            if stop.is_set():  # it ended because its kernel was taken away
                return
            record = kept_or_failed(out, partial, record)
            with guard:
                tally.add(record)
                told.done(record.name, record.seconds, record.failure)

    pool = ThreadPoolExecutor(max_workers=max(at_a_time, 1), thread_name_prefix="item")
    try:
        for one in [pool.submit(work) for _ in range(max(at_a_time, 1))]:
            one.result()
    finally:
        stop.set()
        pool.shutdown(wait=False, cancel_futures=True)


def ended(item: Item) -> Record:
    """Run an item to its end, whatever that is."""
    begun = time.monotonic()
    try:
        failure = item.run()
    except WorkbenchError as error:
        failure = str(error)
    except Exception as error:  # a fault nobody foresaw is told, and the next item run
        failure = f"it ended unforeseen: {type(error).__name__}: {error}"
    return Record(
        name=item.name,
        about=item.about,
        digest=item.digest,
        page=item.page,
        failure=" ".join(failure.split()),
        seconds=round(time.monotonic() - begun, 2),
    )


def kept_or_failed(out: Path, partial: Path, record: Record) -> Record:
    """Write a record; one that cannot be written is a failure, to be run again."""
    try:
        write_record(out, partial, record)
    except OSError as error:
        return record.failing(f"its record could not be written: {error.strerror}")
    return record


def write_state(out: Path, partial: Path, title: str, tally: Tally | None) -> None:
    """Write what the folder holds: at first that a batch is under way, at last what it came to."""
    state: dict[str, Any] = {"batch": title, "complete": tally is not None}
    if tally is not None:
        state |= {
            "done": tally.done,
            "skipped": tally.skipped,
            "failed": tally.failed,
            "failures": [
                {"name": one.name, "about": one.about, "reason": one.failure}
                for one in sorted(tally.failures, key=lambda one: one.name)
            ],
        }
    elif (out / BATCH).is_file():
        state = json.loads((out / BATCH).read_text(encoding="utf-8")) | state
    (partial / BATCH).write_text(to_text(state), encoding="utf-8")
    os.replace(partial / BATCH, out / BATCH)
