"""The ledger of claims, the verdict on each, and the threats to it.

Modules:

- `analysis.py`: The analysis a claim on a mean gets, for either scope.
- `calibration_threats.py`: What calibrations, allowances, or their absence, could make a verdict
  wrong.
- `censored.py`: Readings that say only that a value is not above them, and the verdict wherever
  they may lie.
- `censored_spreads.py`: Between what a spread may lie when some readings say only that a value is
  not above them.
- `checks.py`: Other analyses of the same claim, beside the one that decides.
- `choosing.py`: Which analysis a claim on a mean gets, and why, in one sentence.
- `claim.py`: A claim as the ledger states it, and one with faults, which keeps its place in the
  ledger.
- `codes.py`: Every code of a claim: faults of its statement, warnings, reasons why it stays open.
- `contrast_budget.py`: The uncertainty budget of a difference of families: blocks and readings, and
  what is shared.
- `effects.py`: How large a difference of two families is, told in other ways than in its unit.
- `evidence.py`: The readings that may speak for or against a claim, and a count of those that may
  not.
- `family_difference.py`: The difference of two families by the analysis chosen: nested, or of block
  means.
- `far_off_threat.py`: Readings far from all others behind a claim, and whether the verdict hangs on
  them.
- `feature_claims.py`: Claims on features seen by eye: the shares of blocks of two families,
  compared exactly.
- `fields.py`: The fields of one claim, checked one by one; a checker keeps every fault it meets.
- `figure_analysis.py`: What the analysis of a figure other than the mean found: spread, thinnest
  place, share below.
- `figure_claims.py`: Claims on a spread, a thinnest place or a share below a limit: judged, and put
  in words.
- `figure_planning.py`: What would settle a claim on a spread, a thinnest place or a share: further
  blocks, or repeats.
- `figure_sentences.py`: A verdict on a spread, a thinnest place or a share in plain English, and
  what would change it.
- `figure_threats.py`: What could make a verdict on a spread, a thinnest place or a share wrong.
- `footing.py`: The common footing of a comparison: what it holds alike, block means, the error of a
  reading.
- `grid.py`: The grid two families share: one value a place, and the blocks that were read all over
  it.
- `hardness_threats.py`: What could make hardness readings void, and with them a verdict.
- `judge.py`: The ledger judged: each claim on its own evidence, then all held together by Holm.
- `judgement.py`: The verdicts on a whole ledger, and what they were reached with.
- `ledger.py`: The ledger: claims.toml read and checked, every fault at once with the key it stands
  at.
- `measured.py`: What a threat needs to know of an analysis, whichever figure of the families it is
  of.
- `measured_difference.py`: The difference of the very blocks measured: only the error of reading
  them stands in the way.
- `model_checks.py`: How the readings of a claim sit with the model they are judged by; nothing here
  decides.
- `monte_carlo.py`: The interval of a difference by Monte Carlo (JCGM 101), where its formula may
  not hold.
- `one_block.py`: What a claim on the mean of families would be without each of its blocks in turn.
- `place_by_place.py`: Thicker here, not there: the difference a claim is of, place by place.
- `place_spreads.py`: How the places of a block vary in each family: the nested model on the grid
  they share.
- `planning.py`: What would settle a claim: further blocks, or repeats, if the difference is as
  estimated.
- `printed_families.py`: A family as it is known: by readings of the study's own, or only by what
  sources print of it.
- `remembered.py`: Ranges people remember, held beside what was measured: compared in a sentence,
  never deciding.
- `rivals.py`: Analyses of two families a claim may ask for by name, beside the nested model and
  Welch's.
- `robustness.py`: Whether a verdict on a mean hangs on one block, or on taking all places together.
- `rules.py`: The three outcomes: an interval held against a margin, and the p-value of that
  boundary.
- `sentences.py`: A verdict in plain English: the effect first, then p, then how much it rests on.
- `share_claims.py`: Claims on the share below a limit: of places, of bores or of whole blocks.
- `share_tests.py`: The tests of two shares of blocks: the one that decides a claim, and those
  beside it.
- `shift_claims.py`: Claims on core shift: a quantity nobody reads, but that the walls round a bore
  tell.
- `spread_claims.py`: Claims on spread: how much the blocks of a family differ among themselves.
- `stated.py`: What a verdict repeats of its claim, and how much was measured for it.
- `summary_analysis.py`: What is printed of families, compared: Welch from summaries, sources pooled
  by random effects.
- `summary_claims.py`: Claims of which a family is known only from print: judged, with the sources
  named.
- `summary_threats.py`: What could make a verdict that rests on print wrong, and what is printed
  beside readings.
- `thinnest_claims.py`: Claims on the thinnest place of a block, on the grid both families were read
  on.
- `threats.py`: What in the records could make a verdict wrong: each threat with a code and a
  sentence.
- `together.py`: All claims of a ledger held together: p-values adjusted for how many were asked.
- `truncation.py`: What was never kept, held against a claim: no analysis here can undo it, so each
  verdict says so.
- `verdict.py`: The verdict on a claim: an outcome with its numbers, its threats and what would
  change it.
"""
