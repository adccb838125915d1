"""A small invented study in memory: readings in, cells by whole steps, claims, a judgement."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd
import pytest

from workbench.claims.analysis import Analysis, analyse
from workbench.claims.claim import Claim, Ledger
from workbench.claims.evidence import gather
from workbench.claims.judge import judge
from workbench.claims.judgement import Judgement
from workbench.claims.verdict import Verdict
from workbench.records.settings import Gauge, Settings, built_in_quantities

KEY = [
    *("family", "block", "bore", "station", "depth", "quantity", "unit"),
    *("gauge", "calibration", "operator", "sampling", "contact"),
]
NO_CALIBRATIONS = pd.DataFrame(columns=["calibration"])
NO_CORRELATIONS = pd.DataFrame(columns=["correlation"])
NO_BLOCKS = pd.DataFrame(columns=["block", "missing_parts"])
DEFAULTS = {
    "quantity": "deck_thickness",
    "unit": "mm",
    "gauge": "ug1",
    "sampling": "grid",
    "contact": "good",
}
GAUGES = {
    "ug1": Gauge(kind="ultrasonic", resolution=0.01, unit="mm", uncertainty=0.05),
    "ug2": Gauge(kind="ultrasonic", resolution=0.01, unit="mm", uncertainty=0.05),
}


@dataclass(frozen=True, slots=True)
class InventedRecords:
    """What the judge asks of the records of a study."""

    cells: pd.DataFrame
    calibrations: pd.DataFrame = field(default_factory=lambda: NO_CALIBRATIONS)
    correlations: pd.DataFrame = field(default_factory=lambda: NO_CORRELATIONS)
    blocks: pd.DataFrame = field(default_factory=lambda: NO_BLOCKS)
    rows_in: int = 0
    rejected: int = 0


@dataclass
class Lab:
    """Builds readings, cells, claims and judgements for a test."""

    settings: Settings = field(
        default_factory=lambda: Settings(
            title="Invented", quantities=built_in_quantities(), gauges=GAUGES
        )
    )

    def readings(
        self,
        family: str,
        mean: float,
        *,
        blocks: int = 6,
        bores: int = 2,
        stations: tuple[str, ...] = ("front", "rear"),
        repeats: int = 1,
        between: float = 0.2,
        bore_spread: float = 0.1,
        within: float = 0.1,
        seed: int = 1,
        **given: Any,
    ) -> pd.DataFrame:
        """Draw readings of a family; `given` fixes further columns."""
        generator = np.random.default_rng([seed, *family.encode()])
        rows = []
        for block in range(1, blocks + 1):
            height = mean + between * generator.standard_normal()
            for bore in range(1, bores + 1):
                level = height + bore_spread * generator.standard_normal()
                for place, station in enumerate(stations):
                    for _ in range(repeats):
                        value = level + 0.3 * place + within * generator.standard_normal()
                        rows.append(
                            {
                                "family": family,
                                "block": f"{family[0].upper()}{block:02d}",
                                "bore": str(bore),
                                "station": station,
                                "value": value,
                                **given,
                            }
                        )
        return pd.DataFrame(rows)

    def table(self, rows: list[tuple[Any, ...]], columns: str) -> pd.DataFrame:
        """Lay out readings by hand."""
        return pd.DataFrame(rows, columns=columns.split())

    def cells(self, *parts: pd.DataFrame, step: float = 0.01) -> pd.DataFrame:
        """Reduce readings to cells: counts and sums of whole steps."""
        table = pd.concat(parts, ignore_index=True)
        given = {column: DEFAULTS.get(column, "") for column in KEY} | {"step": step}
        table = table.assign(**{name: to for name, to in given.items() if name not in table})
        table = table.fillna(given)
        steps = (table["value"] / table["step"]).round().astype("int64")
        held: dict[tuple[Any, ...], list[int]] = {}  # a hundred rows: quicker than a groupby
        for key, k in zip(
            table[[*given]].itertuples(index=False, name=None), steps.tolist(), strict=True
        ):
            held.setdefault(key, []).append(k)
        return pd.DataFrame(
            [
                (*key, len(ks), sum(ks), sum(k * k for k in ks), min(ks), max(ks))
                for key, ks in sorted(held.items())
            ],
            columns=[*given, "n", "s1", "s2", "kmin", "kmax"],
        )

    def calibration(
        self,
        name: str,
        *,
        gauge: str = "ug1",
        pieces: tuple[float, ...] = (5.0, 10.0, 15.0, 20.0),
        zero: float = 0.0,
        slope: float = 1.0,
        noise: float = 0.01,
        u: float = 0.005,
        unit: str = "mm",
        seed: int = 3,
        **given: Any,
    ) -> pd.DataFrame:
        """Read each piece twice under a calibration that shows zero + slope x piece."""
        generator = np.random.default_rng([seed, *name.encode()])
        reference = np.array(pieces * 2)
        shown = zero + slope * reference + noise * generator.standard_normal(reference.size)
        return pd.DataFrame(
            {
                **{"row": np.arange(2, 2 + reference.size), "calibration": name, "gauge": gauge},
                **{"reference": reference, "indicated": np.round(shown, 6), "unit": unit},
                **{"reference_uncertainty": u, "step": 1e-6, "material": "iron"},
                **{"piece": "", "made_on": "", "part": ""},
                **given,
            }
        )

    def records(self, cells: pd.DataFrame, **given: Any) -> InventedRecords:
        """Give cells as the records of a study."""
        return InventedRecords(cells=cells, **given)

    def claim(self, **fields: Any) -> Claim:
        """State a claim; the trophy deck is more than `margin` thicker unless said otherwise."""
        return Claim(
            **{
                "id": "deck",
                "statement": "The trophy deck is thicker.",
                "quantity": "deck_thickness",
                "candidate": "trophy",
                "reference": "works",
                "direction": "greater",
                "unit": "mm",
                **fields,
            }
        )

    def analysis(self, cells: pd.DataFrame, claim: Claim) -> Analysis:
        """Make the analysis of a claim on a mean."""
        evidence = gather(
            cells,
            quantity=claim.quantity,
            candidate=claim.candidate,
            reference=claim.reference,
            unit=claim.unit,
        )
        return analyse(evidence, self.settings.gauges, claim.scope, asked=claim.analysis)

    def judge(
        self,
        cells: pd.DataFrame,
        *claims: Claim,
        seed: int = 1,
        only: str | None = None,
        **given: Any,
    ) -> Judgement:
        """Judge claims on cells."""
        records = self.records(cells, **given)
        ledger = Ledger(entries=claims or (self.claim(),))
        return judge(ledger, records, self.settings, seed=seed, only=only)

    def verdict(
        self, cells: pd.DataFrame, *, given: dict[str, Any] | None = None, **fields: Any
    ) -> Verdict:
        """Judge one claim on cells."""
        return self.judge(cells, self.claim(**fields), **(given or {})).verdicts[0]


@pytest.fixture
def lab() -> Lab:
    return Lab()
