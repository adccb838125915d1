"""One figure a file: results in, a Picture with its words out.

Modules:

- `block_means.py`: Every block's mean in its own interval, sorted within its family.
- `difference.py`: The difference a claim is about, in its interval, against the margin; rival
  analyses below it.
- `distribution.py`: How the readings of each family are spread: a histogram whose bins are whole
  gauge steps.
- `forest.py`: All claims at a glance: each difference in its interval, beside the zone that would
  support it.
- `grid_coverage.py`: Where each family was read: the blocks read and missing at every place of the
  grid.
- `quantile_plot.py`: Block means against normal quantiles, family by family, with a band for the
  whole plot.
- `readings.py`: Every reading as a dot, with the block means and the mean of each family in its
  interval.
"""
