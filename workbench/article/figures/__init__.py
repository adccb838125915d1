"""One figure a file: results in, a Picture with its words out.

Modules:

- `block_means.py`: Every block's mean in its own interval, sorted within its family.
- `block_plan.py`: The block seen from the deck, to scale from its drawing: bores, walls, core
  shifts.
- `block_sheet.py`: One page on one block, to hand over with it: plan, maps, fitness, room for
  boring, cautions.
- `block_spread.py`: How alike the blocks of each family are: block means about the mean of their
  family.
- `bore_map.py`: The wall of one bore unrolled: angle across, depth down, places read shown, the
  rest masked.
- `bore_maps.py`: The walls of all bores of a block unrolled side by side, on one scale of greys.
- `break_even_map.py`: At which price and share of fit blocks a dear family is the cheaper one: the
  line between.
- `budget_shares.py`: What an uncertainty is made of: each component's contribution, new in a
  reading or shared.
- `calibration.py`: One calibration: what the gauge showed beside the true value, the line through
  it, its residuals.
- `contour_labels.py`: Numbers on the lines of a map, each where it stands clear of what is written
  there already.
- `cost_sensitivity.py`: Which input moves the difference between two families most: one by one, and
  jointly.
- `difference.py`: The difference a claim is about, in its interval, against the margin; rival
  analyses below it.
- `distribution.py`: How the readings of each family are spread: a histogram whose bins are whole
  gauge steps.
- `duties.py`: The decision by duty: what a usable block of each family costs, and the odds of it.
- `effects_plot.py`: Effects of blocks, bores and places against normal quantiles, each with a band
  for the whole.
- `family_shifts.py`: The core shift of every block, a small drawing a family, all to one scale.
- `fitted_curves.py`: Fitted distributions over a histogram of the readings, whose bins are whole
  gauge steps.
- `forest.py`: All claims at a glance: each difference in its interval, beside the zone that would
  support it.
- `gauge_agreement.py`: Two gauges, or two operators, at the same places: differences, bias, limits
  of agreement.
- `grid_coverage.py`: Where each family was read: the blocks read and missing at every place of the
  grid.
- `least_places.py`: The thinnest place of every block of two families, on the grid both were read
  on.
- `looking_value.py`: What inspecting more blocks is worth, by how many are inspected, against what
  they cost.
- `looks_on_the_way.py`: When one may stop on the way of a plan: how far beyond its margin a
  difference must then lie.
- `minimum_by_grid.py`: How the thinnest place found falls with the number of places looked at,
  family by family.
- `overbore.py`: The least wall left in a block against the overbore of all its bores, and the
  limits.
- `printed_claim.py`: One claim at print size: the block means of both families, and the difference
  to the margin.
- `printed_ledger.py`: All claims at print size: each in its interval against its margin, named
  beside its line.
- `printed_means.py`: What is printed of families beside what was read of them: means, deviations,
  block means.
- `quantile_plot.py`: Block means against normal quantiles, family by family, with a band for the
  whole plot.
- `readings.py`: Every reading as a dot, with the block means and the mean of each family in its
  interval.
- `rests_on.py`: What a verdict rests on: the difference of a claim without single blocks, and place
  by place.
- `settled_by_blocks.py`: How likely a claim is settled, by how many more blocks are measured: power
  and assurance.
- `share_below.py`: The share of blocks with a place below a limit, over all limits, by family with
  its band.
- `share_curves.py`: The share below any limit, counted family by family, and the limit a claim
  names.
- `tail_plot.py`: The thin tail on a log scale: the share of readings at or below a value, seen and
  fitted.
- `usable_cost.py`: What a usable block of each family costs: how its long-run cost is distributed.
- `wall_ring.py`: The wall around one bore as a ring, with the arrow of its core shift and its
  region.
"""
