"""How often the default analysis of a claim on a mean is wrong, over many designs.

Each design is a pair of families with a true difference. The product's own choice and analysis
(`workbench.claims.analysis.analyse`) are asked for its 95 % interval; a false alarm is an interval
that leaves out the true difference, so coverage is what is left to 100. Power is the share of
intervals that would leave out a margin two standard deviations of a block mean away.

Families whose blocks were all read alike are compared by their block means, whatever lies within
blocks: the nested analysis is then Student's or Welch's of the block means. So for these designs
the choice is asked and that analysis made, a hundred times as fast; the tests beside this file hold
the two to each other, study by study. Uneven designs go the whole way.

    nice -n 15 python tests/calibration/false_alarms.py

makes `false_alarms.csv` beside this file, a row a design. It is seeded design by design, runs on
all processors, and skips designs whose row is there already with as many replicates. `--figure
FILE.png` draws the table, `--table` prints it as Markdown.
"""

from __future__ import annotations

import argparse
import csv
import os
from collections import Counter
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from pathlib import Path
from zlib import crc32

import numpy as np
import pandas as pd

from workbench.claims.analysis import analyse
from workbench.claims.choosing import OWN_FROM, choose
from workbench.claims.evidence import UNCALIBRATED, Count, Evidence
from workbench.errors import Refusal
from workbench.inference.means.pooled import pooled
from workbench.inference.means.welch import Summary, welch
from workbench.inference.results import Difference
from workbench.records.settings import Gauge

TABLE = Path(__file__).with_name("false_alarms.csv")
REPLICATES = 20_000
UNEVEN_REPLICATES = 1_000
STATIONS, REPEATS = ("front", "rear"), 2
OFFSET = 0.3  # standard uncertainty of each gauge where measuring has an error of its own
COARSE = 0.5  # the step of readings that are rounded, in standard deviations
COLUMNS = (
    *("design", "replicates", "false_alarms", "error", "power", "width"),
    *("warned", "analysis", "refused"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """Two families: blocks, bores a block, share of variance between blocks, and what is odd.

    The candidate varies `ratio` times as much as the reference. `shape` is that of all effects.
    `uneven` drops a third of the bores at random; `rounded` reads in coarse steps; `gauges` reads
    each family with its own gauge, whose offset is unknown but for its stated uncertainty.
    """

    candidate: int
    reference: int
    bores: int = 4
    share: float = 0.2
    ratio: float = 1.0
    shape: str = "normal"
    uneven: bool = False
    rounded: bool = False
    gauges: bool = False

    @property
    def name(self) -> str:
        """The design in words, which also seeds it."""
        odd = [
            f"spread x{self.ratio:.3g}" if self.ratio != 1 else "",
            self.shape if self.shape != "normal" else "",
            "uneven" if self.uneven else "",
            "rounded" if self.rounded else "",
            "own gauges" if self.gauges else "",
        ]
        named = (
            f"{self.candidate}/{self.reference} blocks, {self.bores} bores, share {self.share:g}"
        )
        return ", ".join([named, *filter(None, odd)])

    @property
    def plain(self) -> bool:
        """Whether both families are normal with one spread, two blocks or more each."""
        return (self.ratio, self.shape) == (1.0, "normal") and self.candidate > 1

    @property
    def replicates(self) -> int:
        """How many studies the table is to rest on."""
        return UNEVEN_REPLICATES if self.uneven else REPLICATES


def designs() -> tuple[Design, ...]:
    """List the designs."""
    sizes = [(c, r) for c in (1, 2, 3, 5, 10, 30) for r in (3, 5, 12, 50)]
    few = [(2, 12), (3, 12), (3, 50), (5, 12), (10, 12)]
    return (
        *(Design(candidate=c, reference=r) for c, r in sizes),
        *(
            Design(candidate=c, reference=r, bores=bores, share=share)
            for c, r in ((3, 12), (10, 12))
            for bores in (1, 6)
            for share in (0.0, 0.8)
        ),
        *(Design(candidate=c, reference=r, share=share) for c, r in few for share in (0.0, 0.8)),
        *(
            Design(candidate=c, reference=r, share=0.8, ratio=ratio)
            for c, r in [(1, 12), *few, (5, 50), (12, 12), (30, 50)]
            for ratio in (3.0, 1 / 3)
        ),
        *(
            Design(candidate=c, reference=r, share=0.8, shape=shape)
            for c, r in few
            for shape in ("skewed", "heavy tails")
        ),
        *(Design(candidate=c, reference=r, uneven=True) for c, r in few),
        *(Design(candidate=c, reference=r, rounded=True) for c, r in few),
        *(Design(candidate=c, reference=r, gauges=True) for c, r in few),
    )


def draw(design: Design, generator: np.random.Generator) -> dict[str, np.ndarray]:
    """Draw one study with no true difference: readings by block, bore, place and repeat."""
    return {
        name: _family(design, blocks, scale, generator)
        for name, blocks, scale in (
            ("c", design.candidate, design.ratio),
            ("r", design.reference, 1.0),
        )
    }


def _family(
    design: Design, blocks: int, scale: float, generator: np.random.Generator
) -> np.ndarray:
    bores, places = design.bores, len(STATIONS)
    within = 1 - design.share
    bore = within / 2 if bores > 1 else 0.0
    shape = (blocks, bores, places, REPEATS)
    values = scale * (
        np.sqrt(design.share) * _drawn(design, shape[:1], generator)[:, None, None, None]
        + np.sqrt(bore) * _drawn(design, shape[:2], generator)[:, :, None, None]
        + np.sqrt(within - bore) * _drawn(design, shape, generator)
    )
    values = values + 0.4 * np.arange(places)[:, None]
    if design.gauges:
        values = values + OFFSET * generator.standard_normal()
    if design.rounded:
        values = np.round(values / COARSE) * COARSE
    return np.asarray(values)


def evidence(
    design: Design, drawn: dict[str, np.ndarray], generator: np.random.Generator
) -> Evidence:
    """Lay a study out as the cells the analysis is given."""
    parts = {name: _cells(design, name, values, generator) for name, values in drawn.items()}
    return Evidence(
        candidate="c",
        reference="r",
        unit="mm",
        cells=pd.concat(parts.values(), ignore_index=True),
        counts={
            name: Count(blocks=len(drawn[name]), bores=0, readings=int(part["n"].sum()))
            for name, part in parts.items()
        },
        left_out=(),
        calibrations=UNCALIBRATED,
    )


def _cells(
    design: Design, name: str, values: np.ndarray, generator: np.random.Generator
) -> pd.DataFrame:
    block, hole, place = (at.ravel() for at in np.indices(values.shape[:3]))
    frame = pd.DataFrame(
        {
            "family": name,
            "block": np.array([f"{name}{number}" for number in range(len(values))])[block],
            "bore": hole.astype(str),
            "station": np.array(STATIONS)[place],
            "depth": "",
            "gauge": f"gauge {name}" if design.gauges else "gauge",
            "calibration": "",
            "operator": "",
            "n": REPEATS,
            "mean": values.mean(axis=3).ravel(),
            "ss": (REPEATS * values.var(axis=3)).ravel(),
            "step": COARSE if design.rounded else 0.001,
            "corrected_by": "",
            "extrapolated": False,
        }
    )
    if design.uneven:
        kept = (generator.random(values.shape[:2]) < 2 / 3) | (np.arange(design.bores) == 0)
        frame = frame[kept[block, hole]].reset_index(drop=True)
    return frame


def _drawn(design: Design, shape: tuple[int, ...], generator: np.random.Generator) -> np.ndarray:
    """Draw effects of mean 0 and variance 1."""
    if design.shape == "skewed":
        return np.asarray((generator.gamma(2, 1, shape) - 2) / np.sqrt(2))
    if design.shape == "heavy tails":
        return np.asarray(generator.standard_t(5, shape) / np.sqrt(5 / 3))
    return generator.standard_normal(shape)


def answers(
    design: Design, replicates: int, *, whole: bool = False
) -> Iterator[tuple[str, Difference] | None]:
    """Give the analysis and the difference of many studies; None where it is refused.

    `whole` goes the whole way from cells for a design that needs it not, too.
    """
    generator = np.random.default_rng([20261125, crc32(design.name.encode())])
    by = _whole if whole or design.uneven else _by_block_means
    for _ in range(replicates):
        drawn = draw(design, generator)
        try:
            yield by(design, drawn, generator)
        except Refusal:
            yield None


def _whole(
    design: Design, drawn: dict[str, np.ndarray], generator: np.random.Generator
) -> tuple[str, Difference]:
    stated = {
        f"gauge {name}": Gauge(kind="ultrasonic", resolution=0.001, unit="mm", uncertainty=OFFSET)
        for name in "cr"
    }
    gauges = stated if design.gauges else {"gauge": Gauge(resolution=0.001, unit="mm")}
    found = analyse(evidence(design, drawn, generator), gauges, "family")
    return found.choice.name, found.difference


def _by_block_means(
    design: Design, drawn: dict[str, np.ndarray], _: np.random.Generator
) -> tuple[str, Difference]:
    ours, others = (drawn[name].mean(axis=(1, 2, 3)) for name in "cr")
    choice = choose("family", ours, others).name
    if choice == "own_spreads":
        found = welch(Summary.of(ours), Summary.of(others))
    else:
        found = pooled(ours, others)
    return choice, found.widened(OFFSET * 2**0.5 if design.gauges else 0.0)


def run(design: Design, replicates: int, *, whole: bool = False) -> dict[str, object]:
    """Judge many studies of one design by the default analysis."""
    distance = 2 * np.sqrt(design.share + (1 - design.share) / design.bores / 2)
    missed = decided = refused = 0
    width = 0.0
    names: Counter[str] = Counter()
    for answer in answers(design, replicates, whole=whole):
        if answer is None:
            refused += 1
            continue
        name, difference = answer
        interval = difference.interval(0.95)
        missed += not interval.contains(0.0)
        decided += not interval.contains(-distance)
        width += interval.high - interval.low
        names[name] += 1
    answered = max(replicates - refused, 1)
    rate = missed / answered
    return {
        "design": design.name,
        "replicates": replicates,
        "false_alarms": f"{rate:.4f}",
        "error": f"{np.sqrt(rate * (1 - rate) / answered):.4f}",
        "power": f"{decided / answered:.3f}",
        "width": f"{width / answered:.3f}",
        "warned": f"{min(design.candidate, design.reference) < OWN_FROM:d}",
        "analysis": " ".join(f"{name}:{n / answered:.2f}" for name, n in sorted(names.items())),
        "refused": refused,
    }


def rows() -> dict[str, dict[str, str]]:
    """Give the rows of the table by design."""
    if not TABLE.exists():
        return {}
    with TABLE.open(encoding="utf-8", newline="") as file:
        return {row["design"]: row for row in csv.DictReader(file)}


def keep(found: Iterable[dict[str, object]]) -> None:
    """Write the rows so far, in the order of the designs, in one step."""
    known: dict[str, dict[str, object]] = {**rows()}
    known.update({str(row["design"]): row for row in found})
    fresh = TABLE.with_suffix(".part")
    with fresh.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(known[design.name] for design in designs() if design.name in known)
    fresh.replace(TABLE)


def markdown() -> str:
    """Give the table as Markdown, per cent."""
    lines = ["| design | false alarms | power | warned |", "| --- | ---: | ---: | --- |"]
    lines += [
        f"| {row['design']} | {100 * float(row['false_alarms']):.1f} | "
        f"{100 * float(row['power']):.0f} | {'yes' if float(row['warned']) > 0.5 else ''} |"
        for row in rows().values()
    ]
    return "\n".join(lines)


def figure(path: Path) -> None:
    """Draw the false alarms of every design about 5 in 100, warned ones as open dots."""
    import matplotlib.pyplot as plt

    found = list(rows().values())
    sheet, axes = plt.subplots(figsize=(8, 0.17 * len(found) + 1), layout="constrained")
    for at, row in enumerate(reversed(found)):
        rate, error = 100 * float(row["false_alarms"]), 196 * float(row["error"])
        filled = "white" if float(row["warned"]) > 0.5 else "#0072B2"
        axes.errorbar(rate, at, xerr=error, fmt="o", ms=4, color="#0072B2", mfc=filled, lw=1)
    axes.axvspan(4, 6, color="0.92", zorder=0)
    axes.axvline(7.5, color="0.4", lw=0.8, ls="--")
    axes.set_xscale("symlog", linthresh=10)
    ticks = [0, 2, 4, 6, 8, 10, 20, 50]
    axes.set_xticks(ticks, [str(tick) for tick in ticks])
    axes.set_ylim(-1, len(found))
    axes.set_yticks(range(len(found)), [row["design"] for row in reversed(found)], fontsize=6)
    axes.set_xlabel("false alarms in 100 at a nominal 5 (open: the verdict carries a warning)")
    sheet.savefig(path, dpi=100)


def main() -> None:
    """Run what is missing of the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    asked.add_argument("--table", action="store_true")
    asked.add_argument("--figure", type=Path)
    given = asked.parse_args()
    if given.table:
        print(markdown())
        return
    if given.figure:
        figure(given.figure)
        return
    there = rows()
    missing = [
        design
        for design in designs()
        if int(there.get(design.name, {}).get("replicates", 0)) < design.replicates
    ]
    with ProcessPoolExecutor(given.jobs) as pool:
        running = [pool.submit(run, design, design.replicates) for design in missing]
        for done in as_completed(running):
            row = done.result()
            keep([row])
            print(row["design"], row["false_alarms"], row["analysis"], flush=True)


if __name__ == "__main__":
    main()
