"""A study folder opened: its settings, its records, its claims, and the digest of every file."""

from __future__ import annotations

import pickle
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from workbench.errors import StudyError
from workbench.records.digests import digests
from workbench.records.kept_run import (
    keep_reached,
    kept_reached,
    kept_reduction,
    reduction_name,
)
from workbench.records.settings import Settings, load_settings

if TYPE_CHECKING:
    from collections.abc import Callable

    from workbench.castings.calibration import Calibrations
    from workbench.castings.family_fitness import FamilyFitness
    from workbench.castings.inspection import Inspection
    from workbench.claims.judgement import Judgement
    from workbench.claims.ledger import Ledger
    from workbench.inference.planning.sequential import Spending
    from workbench.records.faults import Fault
    from workbench.records.notice import Notice
    from workbench.records.store import Records
    from workbench.worth.answer import WorthAnswer
    from workbench.worth.plan_claims import PlanAnswer
    from workbench.worth.prices import Prices

T = TypeVar("T")

DEFAULT_SEED = 20_260_101
STUDY_FILE = "study.toml"
CLAIMS_FILE = "claims.toml"
JUDGEMENT, OPENED = "judgement.pickle", "study.pickle"
OF_CURRENCIES = ("no_currency", "two_currencies")


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """One study: what its files say, checked. Faults in readings and claims are kept, not raised.

    `calibrations` are fitted: what figures and tables must correct readings with.
    `doubts` say what to look at before any answer is believed: readings far from all others.
    `digests` maps each input file (its path inside the study) to the SHA-256 of its bytes.
    """

    folder: Path
    settings: Settings
    records: Records
    ledger: Ledger
    calibrations: Calibrations
    doubts: tuple[Notice, ...]
    digests: dict[str, str]

    @property
    def title(self) -> str:
        """The title as the study gives it: text from a stranger, to be escaped where shown."""
        return self.settings.title

    @property
    def sound(self) -> bool:
        """Tell whether neither settings, records, calibrations nor claims hold a fault."""
        return self.fault_count == 0

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Those of the settings, claims, calibrations and records, the first of the last."""
        return (
            *self.setting_faults,
            *self.ledger.faults,
            *self.calibrations.faults,
            *self.records.faults,
        )

    @property
    def setting_faults(self) -> tuple[Fault, ...]:
        """The faults of `[fitness]`, `[boring]` and of money, which only some answers rest on."""
        from workbench.castings.stated_rules import stated_boring, stated_duties
        from workbench.records.faults import FaultsError
        from workbench.worth.stated_money import read_money

        found: list[Fault] = []
        for read in (stated_duties, stated_boring, read_money):
            try:
                read(self.settings)
            except FaultsError as error:
                found += error.faults
        # Prices may be noted without a currency where nothing is asked of them.
        asked = bool(self.settings.worth)
        return tuple(fault for fault in found if asked or fault.code not in OF_CURRENCIES)

    @property
    def fault_count(self) -> int:
        """How many faults there are, also where the records hold more than are listed."""
        listed = len(self.faults) - len(self.records.faults)
        return listed + self.records.fault_count

    @property
    def notices(self) -> tuple[Notice, ...]:
        """What a reader should know that is no fault: of the files, of what corrects, of places."""
        from workbench.castings.calibration_notices import calibration_notices
        from workbench.castings.void_hardness import void_findings
        from workbench.records.notice import Notice

        void = void_findings(self.records.cells, self.settings, self.calibrations)
        return (
            *self.records.notices,
            *self.doubts,
            *calibration_notices(self.calibrations, self.records),
            *(Notice(file="readings", code=of.code, sentence=of.sentence) for of in void),
        )

    def inspect(self) -> Inspection:
        """Gather what was read of each block, for its bores, its fitness and its place."""
        from workbench.castings.inspection import inspect_study

        given = (self.records.cells, self.settings, self.calibrations)
        return self.once("inspection", lambda: inspect_study(*given))

    def fitness(self, *, seed: int = DEFAULT_SEED) -> dict[str, dict[str, FamilyFitness]]:
        """Hold every family against every duty stated, by their names; `seed` drives the draws."""
        from workbench.worth.judged_shares import judged_families

        return self.once(f"fitness-{seed}", lambda: judged_families(self.inspect(), seed=seed))

    def judge(self, *, only: str | None = None, seed: int = DEFAULT_SEED) -> Judgement:
        """Judge all claims, or the one whose id is `only`; `seed` drives the resampling checks.

        In a notebook of a headless run the verdicts are those the run has reached already.
        """
        from workbench.claims.judge import judge

        reached = self.reached(seed)
        if reached is not None and only in (None, *self.ledger.ids):
            verdicts = tuple(v for v in reached.verdicts if only in (None, v.claim))
            return replace(reached, verdicts=verdicts)
        return judge(self.ledger, self.records, self.settings, seed=seed, only=only)

    def worth(
        self, *, duty: str | None = None, seed: int = DEFAULT_SEED, jointly: bool = True
    ) -> WorthAnswer:
        """Answer which family's blocks are worth their money for a duty.

        `duty` is a name of `[fitness]`; that of `[worth]` where left out. `seed` drives the draws.
        `jointly` asks for the indices of what moves the answer together, which takes a moment.
        """
        from workbench.worth.answer import answer_worth
        from workbench.worth.judged_shares import duties_to_judge, judged_shares

        duties = duties_to_judge(self.settings)
        return answer_worth(
            self._prices(),
            judged_shares(self.fitness(seed=seed), duties),
            duty=duty,
            confidence=self.settings.confidence,
            seed=seed,
            jointly=jointly,
        )

    def plan(
        self,
        *,
        claim: str | None = None,
        seed: int = DEFAULT_SEED,
        budget: float | None = None,
        half_width: float | None = None,
        looks: Spending = "obrien-fleming",
    ) -> PlanAnswer:
        """Answer what to measure next for each unresolved claim, or for the one named.

        With a `budget` also the likeliest plan for that money, with a `half_width` in the unit of
        the claim named also the cheapest plan for an interval so narrow. `looks` on the way spend
        the permitted false alarms as O'Brien and Fleming's bounds do, or as Pocock's.
        """
        from workbench.claims.judge import Bench, judge
        from workbench.worth.plan_claims import plan_claims

        judged, ledger = self.reached(seed), self.ledger
        if judged is not None:  # then claims that are decided need not be laid out again
            left = {verdict.claim for verdict in judged.verdicts if verdict.outcome == "unresolved"}
            ledger = replace(ledger, entries=tuple(one for one in ledger.entries if one.id in left))
        given = (ledger, self.records, self.settings)
        bench = Bench(*given, seed=seed)
        judged = judged or judge(*given, seed=seed, bench=bench)
        return plan_claims(
            bench,
            judged.verdicts,
            self._prices(),
            only=claim,
            budget=budget,
            half_width=half_width,
            looks=looks,
        )

    def _prices(self) -> Prices:
        from workbench.worth.prices import load_prices

        met = tuple(dict.fromkeys(self.records.blocks["family"]))
        return load_prices(self.settings, met)

    def reached(self, seed: int) -> Judgement | None:
        """Give the judgement a run has kept of these very inputs with this seed, if any."""
        kept = kept_reduction(self.folder)
        judgement: Judgement | None = (
            None if kept is None else kept_reached(kept / JUDGEMENT, self.digests)
        )
        return judgement if judgement is not None and judgement.seed == seed else None

    def once(self, name: str, reach: Callable[[], T]) -> T:
        """Give what another page of this run has reached; else reach it and keep it for them.

        `name` becomes that of a file: no word of a study's own.
        """
        run = kept_reduction(self.folder)
        if run is None:
            return reach()
        path = run / f"{name}.pickle"
        found: T | None = kept_reached(path, self.digests)
        if found is None:
            found = reach()
            keep_reached(found, path, self.digests)
        return found

    def keep(self, reductions: Path) -> None:
        """Keep the reduction in `reductions`, and this study opened, for the notebooks of a run."""
        from workbench.records.intake import save_reduced
        from workbench.records.shelf import Shelf

        place = reductions / reduction_name(self.folder)
        save_reduced(self.records, place)
        there = replace(self, records=replace(self.records, shelf=Shelf(place)))
        (place / OPENED).write_bytes(pickle.dumps(there))

    def keep_judgement(self, judgement: Judgement, reductions: Path) -> None:
        """Keep the judgement beside the reduction."""
        path = reductions / reduction_name(self.folder) / JUDGEMENT
        keep_reached(judgement, path, self.digests)


def open_study(
    folder: str | Path,
    *,
    as_of: str | date | None = None,
    reduced: str | Path | None = None,
    engine: str | None = None,
) -> Study:
    """Open the study in `folder`; `reduced` names a folder that holds its reduction already.

    Left out, the one a headless run has kept of this study for its notebooks is used, or one that
    an earlier command made from the very same files; see `records.kept`. `as_of` is a
    day or a time (of UTC, where no zone is stated): a collection is then read as it was. `engine`
    reduces the readings in place of the one the study states; see `intake.read_records`.

    Raises
    ------
    StudyError
        When there is no such folder, no study.toml or no readings, or a file cannot be read.
    FaultsError
        When study.toml has faults; all of them are listed.
    """
    from workbench.castings.calibration import calibrations_of
    from workbench.claims.ledger import load_ledger
    from workbench.records.collection.as_of import moment
    from workbench.records.far_off import far_off_notices
    from workbench.records.intake import read_records
    from workbench.records.kept import cache_folder
    from workbench.records.sources import inside

    if not isinstance(folder, str | Path):
        raise StudyError(f"A study is a folder, given by its path in quotes, not {folder!r}.")
    folder = Path(folder)
    if not folder.is_dir():
        raise StudyError(f"There is no study folder at {folder}.")
    if not (folder / STUDY_FILE).is_file():
        raise StudyError(f"{folder} holds no {STUDY_FILE}; a study starts with one.")
    for name in (STUDY_FILE, CLAIMS_FILE):
        inside(folder, name)
    if as_of is None and reduced is None and engine is None:
        opened = kept_study(folder)
        if opened is not None:
            return opened
    settings = load_settings(folder)
    kept = Path(reduced) if reduced else kept_reduction(folder)
    at = None if as_of is None else moment(as_of)
    records = read_records(
        folder, settings, as_of=at, reduced=kept, kept=cache_folder(), engine=engine
    )
    met = tuple(dict.fromkeys(records.blocks["family"]))
    ledger = load_ledger(folder / CLAIMS_FILE, settings, families=met)
    return Study(
        folder=folder,
        settings=settings,
        records=records,
        ledger=ledger,
        calibrations=calibrations_of(records, settings),
        doubts=tuple(far_off_notices(records.cells, settings.quantities)),
        digests=dict(sorted({**records.digests, **digests(folder, [CLAIMS_FILE])}.items())),
    )


def kept_study(folder: Path) -> Study | None:
    """Give a study as the run of this process opened it, if its claims are still the same.

    Raises
    ------
    StudyError
        When another of its files has changed since.
    """
    from workbench.records.intake import check_reduced

    kept = kept_reduction(folder)
    if kept is None or not (kept / OPENED).is_file():
        return None
    study: Study = pickle.loads((kept / OPENED).read_bytes())  # noqa: S301  written by our own run
    check_reduced(kept, folder, study.settings)
    claims = digests(folder, [CLAIMS_FILE])
    if claims.get(CLAIMS_FILE) != study.digests.get(CLAIMS_FILE):
        return None
    return replace(study, folder=folder)


def doubts_json(study: Study) -> dict[str, list[dict[str, str]]]:
    """Give what to look at first as JSON takes it, under its key."""
    return {"doubts": [{"code": one.code, "text": one.sentence} for one in study.doubts]}
