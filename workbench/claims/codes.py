"""Every code of a claim: faults of its statement, warnings, reasons why it stays open.

The lists the documents show. What warns of calibrations and hardness has its code among those of
the records; a reason that the statistics give themselves has its sentence beside it.
"""

from __future__ import annotations

CLAIM_FAULTS = {
    "no_claims": "There is no `claims.toml`, or no claim in it.",
    "too_many_claims": "The file states more than 2000 claims; none is judged.",
    "unreadable": "The file cannot be opened.",
    "unknown_key": "The file holds something else than `[[claim]]`.",
    "wrong_type": "A field is not of its type: text in quotes, or a number.",
    "missing_field": "A required field is not given.",
    "unknown_field": "There is no field of this name.",
    "empty": "A text is empty.",
    "too_long": "A text is longer than allowed.",
    "hidden_character": "A text holds a control or invisible character.",
    "bad_id": "The id is not made of letters, digits, “.”, “_” and “-”.",
    "duplicate_id": "An earlier claim has this id.",
    "bad_choice": "The word is none of those the field allows.",
    "unknown_quantity": "The quantity is neither built in nor declared.",
    "unknown_family": "The family is neither in `study.toml` nor in the readings.",
    "same_family": "Candidate and reference are one family.",
    "unit_mismatch": "The unit is not known, or does not fit the quantity.",
    "not_finite": "A number is not finite, or beyond 1e9.",
    "margin_needed": "`same` without a margin.",
    "bad_margin": "A margin of `same` not above 0, of `different` below 0, or of shares 1 or more.",
    "threshold_needed": "`share_below` without a threshold.",
    "threshold_misplaced": "A threshold with another figure than `share_below`.",
    "of_misplaced": "`of` with another figure than `share_below`.",
    "analysis_misplaced": "`analysis` with another figure than `mean`, other than of a feature.",
}

WARNINGS = {
    # how many blocks, and how they differ
    "one_block": "One block of a family: its spread is taken from the other family.",
    "few_blocks": "Two to four blocks of a family: the interval leans on assumptions.",
    "unequal_spread": "One spread is taken for both families, and they seem to differ in it.",
    "common_spread": "One spread is taken for both families, or for all sources of one.",
    "boundary_variance": "A spread is estimated at zero; it may be small without being zero.",
    "merged_levels": "The spread between bores cannot be told from that of blocks or readings.",
    "influential_block": "Without one block the outcome would be another.",
    "uneven_difference": "The difference is not the same at every place, or with every gauge.",
    "checks_disagree": "Another analysis of the same readings comes to another outcome.",
    "far_off": "Readings lie far from all others; what the outcome would be without them.",
    # what was left out or cannot be compared
    "searched_excluded": "Readings at places hunted for were left out.",
    "searched_lower": "With the readings hunted for the outcome would be another.",
    "doubtful_excluded": "Readings with doubtful contact were left out.",
    "unmatched_stations": "Readings at places read in one family only were left out.",
    "incomplete_grid": "Blocks read at too few places of the grid were not counted.",
    "censored_readings": "Readings known only to be not above a value were left out.",
    "censored_bounds": "What the verdict would be wherever those readings lie.",
    "truncated": "Readings or blocks of a family were never kept, as the study states.",
    "other_scale": "Readings on another hardness scale were left out.",
    "rejected_rows": "The study has rows with faults, which were not used.",
    # gauges, calibrations, observers
    "single_gauge_each": "Each family was read with gauges of its own.",
    "single_operator_each": "Each family was read by operators of its own.",
    "no_gauge_uncertainty": "Nothing is known of the error of a gauge; nothing was added for it.",
    "error_stated": "The error of reading is the one stated, as nothing was read twice.",
    "error_in_spread": "Taking the error of reading off the spread would change the outcome.",
    "uncorrected_readings": "Readings under no usable calibration stand as shown.",
    "calibration_unusable": "Readings name a calibration that cannot correct them.",
    "calibration_each": "The families were read under different calibrations.",
    "calibration_dominates": "Most of what is unsure is an error that more readings do not lessen.",
    "extrapolated": "Readings lie beyond the pieces of their calibration.",
    "monte_carlo_parts": "The interval by formula and that by simulation part.",
    "converted_readings": "Hardness was converted by the study's own correlation.",
    "part_not_stated": "Blocks were weighed without parts whose mass is not stated.",
    "derived_length": "A core shift is derived; how much too long it may be is said.",
    "one_observer": "A feature was seen by one observer only.",
    "agreement_unknown": "Whether observers agree cannot be told.",
    "observers_disagree": "Observers agree little.",
    "tied_blocks": "Blocks seen half and half count on neither side.",
    # print and memory
    "printed_summary": "A family is known only from print.",
    "printed_beside": "What is printed of a family that was read, beside its readings.",
    "few_sources": "Few printed sources: how they differ is poorly known.",
    "sources_differ": "Printed sources differ by more than their uncertainties.",
    "sources_left_out": "Sources that print one family only were left out, as others print both.",
    "remembered_range": "A remembered range beside the data; it has no say.",
}

REASONS = {
    "no_readings": "A family has no reading of the quantity that may count.",
    "no_shared_station": "No place was read in both families.",
    "not_like_with_like": "Too few places were read alike in both families.",
    "incomplete_grid": "No block of a family was read at enough of the shared places.",
    "too_few_blocks": "Too few blocks in all show a spread between blocks.",
    "one_block_no_spread": "One block shows no spread of its own, and the figure needs one.",
    "no_block_spread": "All block means of a family are equal to the gauge's step.",
    "no_blocks_left": "Every block of a family is seen half and half.",
    "no_repeats": "For the blocks measured alone: nothing shows the error of reading.",
    "too_little_left": "Places and gauges take up nearly all that the readings tell.",
    "hardness_scale": "The readings are on another hardness scale than the claim.",
    "no_shift": "No bore of a family has a core shift.",
    "shift_of_blocks": "A core shift is asked of single blocks; see `place`.",
    "feature_figure": "A feature has shares of blocks, no spread and no thinnest place.",
    "feature_scope": "A share of the blocks measured is counted, not estimated.",
    "analysis_does_not_fit": "The analysis asked for cannot answer this claim.",
    "analysis_needs_readings": "The analysis asked for needs readings, and there is only print.",
    "summary_tells_no_error": "Print does not tell the error of reading the blocks.",
    "summary_tells_no_places": "Print does not tell how the places of a block vary.",
    "unit_mismatch": "What is printed is in a unit of another kind.",
    "limit_far_off": "The threshold lies far beyond all that was read: another unit, most likely.",
    "limit_not_kept": "The threshold lies where the study says that nothing was kept.",
    "bad_confidence": "Sameness needs a confidence above 0.5.",
    # of the statistics
    "graded_feature": "Grades have an order and no size, so they have no mean.",
    "no_replication": "No block, or no reading, is left to tell the spread by.",
    "no_spread": "All readings are equal.",
    "zero_spread": "All blocks of a family are equal.",
    "no_residual_spread": "Beyond places and groups all readings are equal.",
    "no_standard_error": "Nothing is left to judge the difference by.",
    "not_separable": "The spreads between blocks, bores and readings cannot be told apart.",
}


def claim_fault_table() -> str:
    """Give the faults of a claim as a Markdown table for the documents."""
    return _table("fault of a claim", CLAIM_FAULTS)


def warning_table() -> str:
    """Give the warnings of a verdict as a Markdown table for the documents."""
    return _table("warning", WARNINGS)


def reason_table() -> str:
    """Give the reasons why a claim cannot be answered as a Markdown table for the documents."""
    return _table("reason", REASONS)


def _table(heading: str, codes: dict[str, str]) -> str:
    lines = [f"| {heading} | meaning |", "| --- | --- |"]
    return "\n".join(lines + [f"| `{code}` | {meaning} |" for code, meaning in codes.items()])
