"""What numbers say: statistics on arrays, tables and summaries; knows no castings, no files.

Rooms:

- `decision/`: Deciding under uncertainty: shares known from few trials, cost until one passes,
  information.
- `directions/`: Vectors and directions in a plane: harmonics round a circle, regions, circular
  statistics.
- `distributions/`: Shapes of distributions: fits to rounded, censored or truncated readings, and
  tests of fit.
- `extremes/`: The thinnest place of a block: predicted, fitted and counted, and where it lies.
- `means/`: Means compared: two and more families, one block, pairs, printed summaries; effects.
- `measuring/`: From what a gauge shows to what is so: calibration, budgets, gauge studies,
  agreement, limits.
- `nested/`: Nested variance components: places in bores in blocks, by REML, and what can be asked
  of them.
- `planning/`: Planning: how much to measure, for power, for width, at the least cost, looking as
  one goes.
- `ranks/`: By ranks and order alone: no assumption on the shape.
- `resampling/`: Blocks drawn or dealt anew: bootstrap and permutation.
- `shares/`: Shares: of one family, of two, exactly and within blocks.
- `spreads/`: Spreads compared: whether families vary alike, and by how much not.
- `tolerance/`: Tolerance limits: between which values a stated share of all blocks lies, with
  confidence.

Modules:

- `adjustment.py`: Many p-values asked at once: adjusted so that the whole list keeps its error
  rate.
- `admissible.py`: What single numbers, and numbers read in pairs, must be before anything is done
  with them.
- `estimates.py`: A figure with its interval, and what any comparison must be able to answer.
- `even.py`: Points that fill a cube more evenly than chance does: the same interval from fewer
  draws.
- `grouping.py`: Rows of a table that belong together, numbered: without the cost of a table a
  group.
- `noncentral.py`: The noncentral t distribution and the same integral over an unknown spread,
  deterministic.
- `normal_plot.py`: Ordered values against normal quantiles, with a band that holds for all of them
  at once.
- `outliers.py`: Values far from the rest: reported with their odds, never dropped.
- `results.py`: The two answers most questions end in: an interval, and a difference to be asked
  further.
- `roots.py`: Where a function crosses zero between two points that lie on either side of it.
- `samples.py`: What a sample must be before it is analysed: finite numbers in one row, and enough
  of them.
- `simultaneous.py`: Several intervals that are to hold all at once.
- `widened.py`: Any comparison with an independent error added that all its numbers share.
"""
