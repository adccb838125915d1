"""What was measured and how: counts, sampling, gauges and calibrations, what measuring leaves."""

from __future__ import annotations

from workbench.article.measuring_tables import contrasts_table
from workbench.article.record_tables import counts_table
from workbench.article.writing.document import Block, Heading, Paragraph
from workbench.article.writing.material import CALIBRATIONS, SETTINGS, Material
from workbench.article.writing.number import Number, Origin
from workbench.article.writing.phrase import Phrase, bare, joined, listed, say


def measured(material: Material) -> list[Block]:
    """Say what was measured and how."""
    study = material.study
    contrasts = contrasts_table(material.judgement)
    known = tuple(number for of in material.verdicts for number in of.known)
    budgets = Origin(notebook="measuring", cell="budgets", inputs=material.readings.inputs)
    return [
        Heading(level=2, text=("What was measured, and how",), anchor="measured"),
        Paragraph(text=rows_read(material)),
        material.table(
            counts_table(study.records, study.settings), "readings-made", material.readings
        ),
        Paragraph(text=chosen(material)),
        Paragraph(text=gauges(material)),
        *([material.table(contrasts, "measuring-error", budgets, known)] if contrasts.rows else []),
    ]


def rows_read(material: Material) -> Phrase:
    """Say how many rows were read, and what became of them."""
    records, register, origin = material.study.records, material.register, material.readings

    def count(name: str, value: int) -> Number:
        return register.count(f"rows {name}", value, "rows", origin)

    return say(
        "The records hold {read} rows, of which {accepted} were accepted and {rejected} rejected "
        "for faults; every rejected row is kept with its reason. The unit of evidence is the "
        "block, not the reading: readings of one block are alike, and a hundred of them say "
        "little of the next block.",
        read=bare(count("read", records.rows_in)),
        accepted=bare(count("accepted", records.accepted)),
        rejected=bare(count("rejected", records.rejected)),
    )


def chosen(material: Material) -> Phrase:
    """Say how places were chosen, and that how blocks were chosen is not in the records."""
    cells, register, origin = material.study.records.cells, material.register, material.readings

    def count(column: str, value: str) -> Number:
        number = int(cells.loc[cells[column] == value, "n"].sum())
        return register.count(f"readings {value}", number, "readings", origin)

    return say(
        "Places were chosen before looking, but for {searched} readings at places hunted for "
        "because they are thin: these enter no mean. Nor do {doubtful} readings with doubtful "
        "contact. Only places read in both families are compared. How the blocks came to be "
        "measured is not in the records; whoever prints a sentence on a family must know that "
        "they are a fair draw of it.",
        searched=bare(count("sampling", "search")),
        doubtful=bare(count("contact", "doubtful")),
    )


def gauges(material: Material) -> Phrase:
    """Say what corrects the readings, and what each gauge is stated to be uncertain by."""
    study, register = material.study, material.register
    origin = Origin(notebook="measuring", cell="calibrations", inputs=(SETTINGS, CALIBRATIONS))
    fitted = tuple(study.calibrations.by_name.values())
    usable = sum(calibration.line is not None for calibration in fitted)
    found: Phrase = ("No calibration is recorded: readings stand as the gauges showed them.",)
    if fitted:
        found = say(
            "{usable} of {all} calibrations can be used; a reading made under one of these is "
            "corrected by it, any other stands as the gauge showed it. The error of a calibration "
            "is shared by all readings made under it and does not average out.",
            usable=bare(register.count("calibrations usable", usable, "calibrations", origin)),
            all=bare(register.count("calibrations", len(fitted), "calibrations", origin)),
        )
    stated = [
        register.say(
            "{name} {uncertainty}",
            "gauges",
            material.stated,
            name=name,
            uncertainty=register.stated(
                f"gauge {name}.uncertainty",
                gauge.uncertainty,
                material.stated,
                unit=gauge.unit or "",
            ),
        )
        for name, gauge in study.settings.gauges.items()
        if gauge.uncertainty is not None
    ]
    if not stated:
        return found
    return joined(
        [*found, *say(" Stated standard uncertainties: {gauges}.", gauges=listed(stated))]
    )
