"""Every reason code of the records, what it means and what happens: the list the documents show."""

from __future__ import annotations

REJECTED = "The row is rejected."
REFUSED = "The study cannot be opened."
FAULT = "A fault of the file as a whole; the rest is read."
LEFT_OUT = "The row of this file is left out; readings are not touched."
UNUSABLE = "Readings under it stay as shown; the rest is answered."
NOTICE = "A notice; everything is kept."

CODES: dict[str, tuple[str, str]] = {
    # of a row of the readings
    "missing": (REJECTED, "A required column is empty."),
    "ragged_row": (REJECTED, "The row has more or fewer columns than the header."),
    "open_quote": (REJECTED, "A quotation mark was opened, not closed, and swallowed rows."),
    "too_long": (REJECTED, "A name is over 100 characters, or a note over 2000."),
    "hidden_character": (REJECTED, "A name or word holds a control or invisible character."),
    "formula": (REJECTED, "The cell holds a formula without a stored value, or starts with “=”."),
    "cell_error": (REJECTED, "The cell of the workbook shows an error such as a division by 0."),
    "not_a_number": (REJECTED, "The value is not a number."),
    "not_finite": (REJECTED, "The value is NaN or infinite."),
    "ambiguous_number": (REJECTED, "The value can be read two ways, and the file does not decide."),
    "too_large": (REJECTED, "The value is over 10 m, 10 t, or 10 000 on a hardness scale."),
    "not_positive": (REJECTED, "The value is 0 or below, where that cannot be."),
    "unknown_quantity": (REJECTED, "The quantity is neither built in nor declared."),
    "unknown_unit": (REJECTED, "The unit is not known."),
    "unit_mismatch": (REJECTED, "The unit is of another kind than the quantity."),
    "impression_unstated": (REJECTED, "A hardness in mm, and no load and ball of its gauge."),
    "impression_ratio": (REJECTED, "An impression outside 0.24 to 0.60 ball diameters."),
    "converted_scale": (REJECTED, "A hardness on another scale than the gauge reads on."),
    "unknown_grade": (REJECTED, "The value is not a level of the feature."),
    "unknown_sampling": (REJECTED, "`sampling` is neither grid nor search."),
    "unknown_contact": (REJECTED, "`contact` is neither good nor doubtful."),
    "unknown_station": (REJECTED, "A wall's station is neither in the drawing nor an angle."),
    "unknown_bore": (REJECTED, "The drawing has fewer bores."),
    "unknown_gauge": (
        REJECTED,
        "The study names gauges, in study.toml or in calibrations, and this is none of them.",
    ),
    "not_kept": (REJECTED, "The study says that nothing there was kept, in [[truncation]]."),
    "block_family": (REJECTED, "As many other rows or more name another family for the block."),
    "duplicate_row": (REJECTED, "The row is equal to an earlier one in every column."),
    "repeat_conflict": (
        REJECTED,
        "Two rows give one place and repeat number different values; both are rejected.",
    ),
    # of a row added to a collection
    "held_otherwise": (
        REJECTED,
        "The collection holds another value for the place and repeat number.",
    ),
    "already_held": (REJECTED, "A correction whose reading the collection holds already."),
    "nothing_to_correct": (REJECTED, "A correction of a reading the collection does not hold."),
    "nothing_to_mend": (REJECTED, "The row mends no rejected row that is still open."),
    # of a row of blocks.csv, calibrations.csv or correlations.csv
    "negative": (LEFT_OUT, "A price or an uncertainty is below 0."),
    "second_row": (LEFT_OUT, "There is an earlier row for the block."),
    "reference_not_positive": (
        LEFT_OUT,
        "A reference, of a calibration or correlation, is 0 or below.",
    ),
    "indicated_not_positive": (LEFT_OUT, "A gauge showed 0 or less on a reference piece."),
    "shown_not_positive": (LEFT_OUT, "What a gauge showed, in a correlation, is 0 or below."),
    "unknown_correlation": (LEFT_OUT, "A row of correlations.csv names none of study.toml."),
    "unknown_part": (LEFT_OUT, "`part` is neither before nor after."),
    "family_differs": (FAULT, "blocks.csv names another family than the readings; these decide."),
    # of a calibration or correlation as a whole
    "one_reference": (UNUSABLE, "One reference is repeated, and nothing says a ratio is meant."),
    "several_references": (UNUSABLE, "A ratio is stated, and there are several references."),
    "slope_not_positive": (UNUSABLE, "What the gauge showed does not rise with the reference."),
    "two_gauges": (UNUSABLE, "One calibration is given two gauges."),
    "two_methods": (UNUSABLE, "A known speed is stated beside readings on pieces."),
    "bad_uncertainty": (UNUSABLE, "One piece is given two uncertainties."),
    "zero_not_assumed": (UNUSABLE, "The uncertainty of an assumed zero beside a line."),
    "no_reference_readings": (UNUSABLE, "It has no sound row, and no known speed."),
    "no_correlation_data": (UNUSABLE, "A correlation has no sound row in correlations.csv."),
    "too_few_pairs": (UNUSABLE, "A correlation has fewer than three different pairs."),
    "unknown_calibration": (FAULT, "`pair_of` names a calibration that is not there."),
    # of a file
    "missing_column": (FAULT, "A required column is not in the header; its rows are rejected."),
    "no_known_column": (REFUSED, "The header names no column of the contract."),
    "two_headings": (REFUSED, "Two headings stand for one column."),
    "empty_file": (REFUSED, "The file holds nothing, not even a header."),
    "not_its_ending": (REFUSED, "The content is not what the ending says."),
    "unknown_ending": (REFUSED, "The ending is not .csv, .xlsx, .parquet or .duckdb."),
    "not_a_file": (REFUSED, "The name is that of a folder or device."),
    "not_text": (REFUSED, "The file is not text in a known encoding."),
    "not_csv": (REFUSED, "The file cannot be read as separated text."),
    "not_workbook": (REFUSED, "The workbook is damaged, locked or cut short."),
    "not_parquet": (REFUSED, "The Parquet file is damaged or cut short."),
    "not_duckdb": (REFUSED, "The DuckDB file is damaged, cut short or being written."),
    "nested_column": (REFUSED, "A column of the file holds tables or lists."),
    "no_such_table": (REFUSED, "The database has no table of the name given."),
    "no_such_sheet": (REFUSED, "The workbook has no sheet of the name given."),
    "too_large_file": (REFUSED, "The workbook unpacks to more than 4 GB."),
    "outside_study": (REFUSED, "The path leaves the study folder."),
    # of study.toml
    "not_toml": (REFUSED, "The file is not TOML."),
    "unknown_key": (REFUSED, "There is no such key."),
    "missing_key": (REFUSED, "A required key is not given."),
    "bad_value": (REFUSED, "The value of a key is not as it must be."),
    # notices
    "collection": (NOTICE, "How many additions a collection has, and how many corrections."),
    "decimal_mark": (NOTICE, "Numbers were read with a decimal comma, or commas for thousands."),
    "rounded": (NOTICE, "Values are written finer than a millionth, or than can be summed."),
    "far_off": (NOTICE, "Readings far from all others: a slip of unit or decimal mark?"),
    "equal_rows": (NOTICE, "Equal readings of places read several times were kept."),
    "censored_readings": (NOTICE, "Readings that say only that a value is not above them."),
    "truncation": (NOTICE, "Readings or blocks that the study says were never kept."),
    "truncation_unused": (NOTICE, "An entry of [[truncation]] concerns no reading."),
    "part_not_stated": (NOTICE, "A missing part has no mass in [parts]; nothing is added for it."),
    "near_names": (NOTICE, "Two names differ only in case or spaces; they are kept apart."),
    "family_not_listed": (NOTICE, "A family is not among those of study.toml."),
    "gauge_not_listed": (NOTICE, "A gauge is not among those of study.toml."),
    "depth_not_listed": (NOTICE, "A depth is not among those of the drawing in study.toml."),
    "calibration_not_listed": (NOTICE, "A calibration is not in calibrations.csv."),
    "calibration_not_named": (NOTICE, "Readings by a gauge with calibrations name none."),
    "calibration_of_another": (NOTICE, "Readings name a calibration of another gauge."),
    "calibration_unused": (NOTICE, "No reading names the calibration."),
    "calibration_age": (NOTICE, "A calibration is older, or younger, than readings under it."),
    "calibration_range": (NOTICE, "Readings lie beyond the pieces of their calibration."),
    "correlation": (NOTICE, "How a correlation of the study's own was found."),
    "correlation_range": (NOTICE, "Readings lie beyond the pairs of their correlation."),
    "calibration_not_repeated": (NOTICE, "Nothing in a calibration was read twice."),
    "reference_taken_as_exact": (NOTICE, "A calibration's pieces have no uncertainty."),
    "one_piece_calibration": (NOTICE, "A calibration on one piece takes its zero on trust."),
    "calibration_drift": (NOTICE, "A calibration made again comes out different."),
    "slope_hardly_known": (NOTICE, "The pieces of a calibration do not tell its slope."),
    "bent_calibration": (NOTICE, "The pieces of a calibration do not lie on a straight line."),
    "odd_reference_reading": (NOTICE, "One reading of a calibration lies far from the others."),
    "unlikely_speed": (NOTICE, "The speed of sound of a calibration is unlike that of iron."),
    "few_impressions": (NOTICE, "Places have fewer hardness readings than their gauge needs."),
    "close_impressions": (NOTICE, "Hardness readings stand nearer together than they may."),
    "thin_section": (NOTICE, "The iron under hardness readings is thinner than they need."),
    "light_block": (NOTICE, "A block is lighter than its hardness readings need."),
    "unlike_indices": (NOTICE, "Impressions of different load to ball squared do not compare."),
    "unusual_index": (NOTICE, "The load and ball of a gauge do not belong together."),
    "date_not_read": (NOTICE, "Days are not written YYYY-MM-DD and are not used."),
    "blocks_not_read": (NOTICE, "Blocks of blocks.csv have no accepted reading."),
    "windows_1252": (NOTICE, "The file is not UTF-8 and was read as Windows-1252."),
    "other_sheets": (NOTICE, "Other sheets of the workbook were not read."),
    "rows_above_header": (NOTICE, "Rows above the header, such as titles, were not read."),
    "unknown_column": (NOTICE, "A column is none of the contract and was not read."),
    "no_rows": (NOTICE, "The file has a header and no rows."),
}


def code_table() -> str:
    """Give the codes as a Markdown table for the documents."""
    lines = ["| code | meaning | what happens |", "| --- | --- | --- |"]
    lines += [f"| `{code}` | {meaning} | {happens} |" for code, (happens, meaning) in CODES.items()]
    return "\n".join(lines)
