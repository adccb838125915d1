"""Figures, tables and the words beside them: what the article prints, made from results.

Rooms:

- `checking/`: A writer's own draft read against the study: each finding with its line and a
  suggestion.
- `figures/`: One figure a file: results in, a Picture with its words out.
- `formats/`: A document rendered: Markdown, HTML, Word, spreadsheets, print figures, reference
  lists.
- `writing/`: What the write-up says: blocks of text whose every number is a reference to one it
  came from.

Modules:

- `answer.py`: Answers in words, escaped where they are shown: of a claim, of what was measured.
- `asked.py`: Which quantity and which families a notebook is asked for, or a refusal that names
  those met.
- `block_tables.py`: The tables of one block: its place in its family, its bores, its fitness, its
  boring.
- `block_views.py`: What a notebook and a sheet show of one block: its maps, figures and tables.
- `block_words.py`: What is said of one block in words: outcomes, percentiles, risks, room for
  boring.
- `claim_readings.py`: The readings one claim is about: its quantity, its two families.
- `claim_views.py`: What a claim is of, drawn: readings, and for other figures than the mean what
  was compared.
- `compass.py`: How directions are drawn: as on the block seen from the deck, its front to the left.
- `family_fitness_table.py`: The share of each family that is fit for each duty, and the rule that
  decides.
- `family_tables.py`: Tables of several families at once: intervals, whether they differ, whether
  they vary alike.
- `family_values.py`: One number a block, family by family, with the figure of each family: for rows
  of marks.
- `feature_tables.py`: The table of features seen by eye: shares of blocks, and agreement of those
  who looked.
- `gathering.py`: One quantity gathered from the records: corrected, in one unit, what enters a mean
  apart.
- `gauge_tables.py`: Tables of gauges and operators held against each other: gauge studies and
  agreements.
- `hardness_tables.py`: Tables of hardness: how readings scatter at a place, and the strengths it
  may stand for.
- `kept_words.py`: What a study says never reached its records, as the pages tell it.
- `left_out_tables.py`: Tables of readings that enter no mean: what was struck out, and means with
  censored readings.
- `limit_tables.py`: Tables of walls at limits: what conforms, what does not, and what a rule does
  to many blocks.
- `mean_tables.py`: The mean of each family told by other intervals than Student's, and its next
  blocks together.
- `measuring_tables.py`: Tables of the measuring side: what was struck out, calibrations, budgets,
  gauge studies.
- `measuring_views.py`: What the notebook of the measuring side shows, section by section.
- `names.py`: What quantities and families are called in figures and tables, and in which order they
  come.
- `numbers.py`: Estimates with their intervals as figures and tables print them.
- `picture.py`: A finished figure: its picture, the words for those who do not see it, and the
  numbers drawn.
- `placing.py`: Where the dots of a figure stand: few enough to see, and in the same places every
  time.
- `plan_views.py`: What the notebook of plans shows: what would settle each unresolved claim, and
  what it costs.
- `print_style.py`: Figures at the size they are printed: one column or two, drawn in millimetres,
  small type.
- `printed_table.py`: A table drawn on a printed sheet, for figures that stand alone on a page.
- `provenance.py`: What a reader needs to make a figure again: the study, its readings, the version,
  the seed.
- `quantile_tables.py`: Below what a tenth, a quarter, half of the blocks of each family lie,
  whatever its shape.
- `record_tables.py`: Tables of what was read: counts by family and quantity, faults, notices.
- `sample.py`: What the figures of one quantity draw: readings, block means and family means, in one
  unit.
- `scrutiny_tables.py`: Tables of what a claim rests on: without each block, place by place, blocks
  and what is odd.
- `scrutiny_views.py`: What a claim's page shows of what its verdict rests on: blocks, places,
  spreads, what is odd.
- `shape_tables.py`: Tables of distributions: fits, tests of fit, what is odd, and limits.
- `shape_views.py`: What the notebook of fits shows, section by section.
- `shape_words.py`: What the distribution of a family means for a builder, and what could not be
  answered.
- `shared_threats.py`: The threats that stand with every claim of a ledger, to be said once and not
  at each.
- `sheet_tables.py`: The tables of a block as they stand on its one-page sheet: fewer columns,
  shorter words.
- `shift_tables.py`: Core shifts as tables: families, families compared, the bores of one block in
  depth.
- `shift_views.py`: What the notebook of core shift and fitness by family shows, section by section.
- `spread.py`: Where the spread of a quantity comes from: blocks of a family, bores of a block,
  readings.
- `style.py`: One look for every figure: colours, markers, fonts and sheets, all set here and only
  here.
- `tables.py`: A small table for a notebook or an article: accessible HTML, Markdown and plain text.
- `text.py`: Text from a stranger made fit to show: cleaned, shortened, wrapped, and escaped.
- `thin_tables.py`: Thin spots in words and tables: three ways side by side, shares below, where,
  what it means.
- `thin_views.py`: What the notebook of thin spots shows, section by section.
- `verdict_tables.py`: Tables of what was judged: the ledger, one claim beside its checks, its
  threats, the spread.
- `versions.py`: The versions that the numbers hang on: of the workbench, of Python, of the
  libraries.
- `worth_tables.py`: Tables of money: what a usable block costs, families and duties against each
  other, prices.
- `worth_views.py`: What the notebook of money shows, section by section.
- `zones.py`: Where on the line of differences an interval must lie for each outcome of a claim.
"""
