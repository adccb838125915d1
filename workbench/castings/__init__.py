"""What readings mean on a block: the value behind what a gauge showed.

Rooms:

- `bores/`: The walls round the bores of a block: core shift, wall map, and how far it can be bored.

Modules:

- `allowances.py`: What a block weighed without some of its parts would have weighed: stated masses,
  added.
- `answers.py`: Several questions asked one by one: what is refused is kept with its reason.
- `block_figures.py`: The figures of every block: one number a block and quantity, like compared
  with like.
- `block_json.py`: The report of one block as plain values for JSON: full precision, what is not
  known is null.
- `block_report.py`: All that is told of one block: its place in its family, its bores, its fitness,
  its boring.
- `blocks_to_show.py`: Which blocks a run shows in full where nobody asks for one: one of each
  family, by a rule.
- `bore_reports.py`: Each bore of a block: its thinnest place read, the least wall anywhere, its
  core shift.
- `calibration.py`: The calibrations of a study: each fitted to its line, or refused with its row.
- `calibration_findings.py`: What speaks against a fitted calibration: drift, a bend, an odd
  reading, a speed unlike iron.
- `calibration_fit.py`: From the readings of one calibration, and what the study states of it, to
  its line.
- `calibration_notices.py`: What `workbench check` says of calibrations once they are fitted: no
  faults, but to be known.
- `calibration_use.py`: Which readings each calibration corrects: how many, and from where to where.
- `cautions.py`: The cautions beside every figure of fitness or boring; the one place for their
  text.
- `censored_means.py`: Means of families some of whose readings say only that a value is not above
  them.
- `correction.py`: Readings corrected by their calibrations; those without one stay as shown.
- `correlation.py`: A study's own correlation of two hardness scales: fitted to its pairs, or
  refused with its row.
- `family_fitness.py`: Which share of a family is fit for a duty, and which rule decides most often.
- `family_limits.py`: Limits that a share of a family keeps, and where the next block, bore or place
  will fall.
- `family_places.py`: The places of one family laid out for questions on its next block: blocks,
  bores, places.
- `family_readings.py`: Every reading of a quantity as the interval it stands for, corrected, family
  by family.
- `family_shape.py`: How the readings of a family are distributed: fits, tests of fit, what is odd,
  and limits.
- `fitness.py`: Whether one block is fit for a duty: rule by rule, with margin and risk.
- `fitness_figures.py`: What a block shows for each rule of a duty: a figure, its uncertainty, and
  where it was found.
- `gauge_agreement.py`: Two gauges, or two operators, at the same places: bias with its interval,
  limits of agreement.
- `gauge_errors.py`: What each gauge may be out by, under each calibration, and which blocks it was
  out for.
- `gauge_studies.py`: Gauge studies that lie in the records: places read again, by several operators
  or gauges.
- `hidden_places.py`: Places of a block that may be missing because what was read there was never
  kept.
- `impressions.py`: Several hardness readings at a place: how many there are, and how they scatter
  about its mean.
- `inspection.py`: Everything a study read of its blocks, quantity by quantity, ready to be asked
  about a block.
- `kept.py`: From where to where each reading would have been kept at all, as its own gauge showed
  it.
- `limits.py`: One wall against a limit, given its uncertainty: conforming, not conforming, too
  close to call.
- `measuring.py`: The measuring error two families share or do not share, as it enters their
  difference.
- `observers.py`: Features seen by eye: what each block shows, and whether those who looked agree.
- `places.py`: What was read at each place of a block: all readings of a place together, with angle
  and depth.
- `placing.py`: Where one block stands in its family: a percentile with its interval for each
  figure.
- `reading_budget.py`: The uncertainty budget of one reading, or of the mean of places read (JCGM
  100, 5 and 8).
- `repeated_places.py`: Readings at places read more than once: what gauges and operators can be
  compared by.
- `stated_rules.py`: `[fitness.NAME]` and `[boring]` of `study.toml`: their keys, checked, every
  fault named.
- `struck_out.py`: What became of every row read: rejected, kept out of the means and why, corrected
  or as shown.
- `study_budgets.py`: Budgets a study can show: one reading and one mean of the quantities read
  most.
- `tensile.py`: From the hardness of grey iron to a band of tensile strength: a stated relation,
  never automatic.
- `thin_spots.py`: What the thinnest place of a family's next block will be, and where it lies.
- `void_hardness.py`: What makes hardness readings void: thin iron, a light block, impressions too
  near or too few.
- `walls_at_limits.py`: The thinnest wall of every block against the least wall of each duty, given
  its uncertainty.
"""
