"""What was measured: columns, intake with every fault reported, units, reduction to cells.

Rooms:

- `collection/`: Readings kept over years: additions that stand for good, each whole or not there at
  all.

Modules:

- `allowance_table.py`: `[parts.NAME]` and `[correlations.NAME]` of `study.toml`: what is added, and
  what converts.
- `brinell.py`: Brinell hardness from load, ball and impression, and what such an impression asks of
  the place.
- `calibration_notices.py`: Which calibrations the readings name, and which they should: missing,
  unused, of another day.
- `calibration_table.py`: `[calibrations.NAME]` of `study.toml`: what readings on reference pieces
  cannot say themselves.
- `codes.py`: Every reason code of the records, what it means and what happens: the list the
  documents show.
- `columns.py`: The columns of the three record files: what each holds, and the other headings it is
  known by.
- `correlations.py`: `correlations.csv`: one place read on two hardness scales, a row a pair, with
  faults.
- `coverage.py`: What was read, and what the grid lacks: families by quantities, and places nobody
  read.
- `database.py`: A table of a DuckDB file read as text, in batches; row 2 is its first, as if it had
  a header row.
- `delimited.py`: Delimited text read as text: encoding, separator and header found, nothing
  converted.
- `digests.py`: The digests of the inputs of a reduction, and a quick way to see that they still
  hold.
- `distributed.py`: The reduction on Spark: what is handed over, and what comes back.
- `engine.py`: The engine that sees every reading: DuckDB, on disk, within a memory limit.
- `engine_choice.py`: Which engine reduces the readings: what the study states, or what the user
  asks for instead.
- `far_off.py`: Readings that lie far from all others of their quantity: most likely a slip of unit
  or mark.
- `faults.py`: What is wrong with a record, a setting or a claim, and exactly where.
- `files.py`: Open any file of records by its ending.
- `frames.py`: Frames whose text is pandas' own text type, wherever they come from.
- `gauge_table.py`: `[gauges.NAME]` of `study.toml`: an instrument, what it presses, what it asks of
  a place.
- `intake.py`: Read the records of a study: every row accepted or rejected, every fault with its
  place.
- `intake_pass.py`: One pass over the readings of a study: its files in, the folder of a reduction
  out.
- `judging.py`: Judge the rows of the readings by the row rules, and keep what is wrong with each.
- `kept.py`: Reductions kept from one command to the next, each under the digest of all it was made
  from.
- `kept_run.py`: What a headless run keeps of a study for its notebooks: where, and how what is kept
  is opened.
- `known.py`: The readings with all that the lookup tables say of them: what the row rules look at.
- `loading.py`: Load the text of every file of readings into the engine, and what was found on the
  way.
- `lock.py`: A lock that its owner's death releases: tells a run at work from what a dead one left.
- `lookups.py`: The small tables the row rules look words up in: what each written word of the
  readings means.
- `meanings.py`: What a written value means where it is not the number itself: three small tables
  the rules join.
- `money.py`: An amount of money as a study states it: one number, or a range, its currency and its
  date.
- `notice.py`: What a reader of the records should know that is no fault; names quoted in a
  sentence.
- `notices.py`: What a reader of the records should know that is no fault, found by asking the
  engine.
- `numbers.py`: How the text of a number is read: one stated rule, in SQL, over the distinct texts
  of a file.
- `parquetfile.py`: A Parquet file read as text, in batches; row 2 is its first, as if it had a
  header row.
- `places.py`: What only shows between rows: a block in two families, equal rows, repeat numbers
  used twice.
- `plain_text.py`: Text columns as plain strings: quicker to choose rows by and to group than
  Arrow's text is.
- `quantity_table.py`: What can be read: the built-in quantities, and `[quantities.NAME]` of
  `study.toml`.
- `reduction.py`: Readings to cells: one portable statement, sums of whole gauge steps, exact on any
  engine.
- `rounding.py`: Numbers as text, by one written rule.
- `rules.py`: The row rules, as SQL: what makes a reading a fault, in which column, and what is said
  of it.
- `sentences.py`: The sentence of a fault: one template a code, filled with the column and what it
  is about.
- `setting_faults.py`: Faults of `study.toml` as its reader would name them: the key, the value, and
  what it must be.
- `setting_types.py`: What a value of `study.toml` must be: numbers, lines of text, names and units,
  checked alike.
- `settings.py`: `study.toml`: what the user states about the study, checked whole, every fault with
  its key.
- `sheets.py`: A table of text from any file: its headings, its rows in batches, the columns they
  stand for.
- `shelf.py`: The folder of a reduction: kept where it was asked for, or gone with the process that
  made it.
- `sidefiles.py`: The small files beside the readings, such as `blocks.csv` and `calibrations.csv`,
  with faults.
- `sources.py`: Find the files of a study that hold records, and let none of them leave it.
- `spark.py`: The distributed engine: Spark SQL reads the accepted readings and writes their cells.
- `store.py`: The records of a study as read: counts, faults, cells; and the folder they are kept
  in.
- `summary_table.py`: `[[summaries]]` of study.toml: a family known by its printed count, mean and
  standard deviation.
- `tomlfile.py`: A TOML file read with its faults, and a place in it named as its key.
- `truncation_table.py`: `[[truncation]]` of `study.toml`: readings or blocks that never reached the
  records.
- `units.py`: Units of length, mass and hardness: their spellings, and exact factors between them.
- `unkept.py`: Readings where the study says nothing was kept: the reading or the statement is
  wrong.
- `workbook.py`: An Excel workbook read as text: stored values only, nothing in it is ever computed.
"""
