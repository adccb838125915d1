"""Nested variance components: places in bores in blocks, by REML, and what can be asked of them.

Modules:

- `blocks.py`: Predicted block means: each block's own mean, drawn towards that of its family.
- `cells.py`: A table of readings, or of cells, coded for the nested model: counts, means and whole
  numbers.
- `columns.py`: The fixed columns of a nested model: which there are, and which add something.
- `components.py`: How well variance components, their ratios and shares are known: profile-
  likelihood intervals.
- `crossed.py`: Random groups that need not lie in each other: blocks, their bores, gauges and
  operators at once.
- `crossed_fit.py`: Variance components of readings under several chance factors, crossed or not,
  balanced or not.
- `crossed_likelihood.py`: The likelihood of readings under several chance factors, and how it
  bends, from sums of levels.
- `crossed_profile.py`: The least of a criterion over variances of which some must add up to a given
  total.
- `f_test.py`: Several differences of a mixed model at once: the F test of Kenward and Roger.
- `fit.py`: Nested variance components by REML, and differences of fixed levels judged against them.
- `groups.py`: What each group of a fitted nested model contributes: its products with the readings.
- `influence.py`: What a difference would be without each block in turn.
- `interaction.py`: Thicker here, not there: whether the difference of two families changes from
  place to place.
- `kenward_roger.py`: Degrees of freedom and adjusted covariance for fixed effects of a mixed model.
- `likelihood.py`: The restricted likelihood of a mixed model at given variances, and its
  derivatives.
- `mean_squares.py`: Intervals of sums and differences of mean squares, where variance components
  come from.
- `model.py`: A nested model with the sums it was fitted from, for all that is asked of it after the
  fit.
- `nested_study.py`: What a nested study says in few numbers, and what it leaves open about the next
  block.
- `parts.py`: Places in bores in blocks taken apart: block means, bores about them, places about
  those.
- `place_profiles.py`: Thicker here, not there, told block by block: whether families differ more at
  some places.
- `products.py`: The products a nested design gives its likelihood, without any matrix over its
  readings.
- `profile.py`: The profile of a likelihood: its best where a component, a ratio or a share is held
  at a value.
- `profile_ends.py`: Where a profile whose slope is known rises to a bound: the ends of its
  interval.
- `reml.py`: The variances that maximise the restricted or the full likelihood, held at zero or not.
- `residuals.py`: Residual checks of a nested model: which blocks, bores and cells stand out, and
  are they normal.
- `result.py`: A fitted nested model, and the differences it can be asked for.
- `spread_test.py`: Do families share their spreads? The likelihood ratio of common against own
  variances.
- `squares.py`: Mean squares of places in bores in blocks: of one family, or pooled over several.
- `sums.py`: The readings of a nested design drawn together into what its likelihood needs.
- `unequal.py`: A nested model in which every family has spreads of its own, the places having
  effects in common.
"""
