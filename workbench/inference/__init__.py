"""What numbers say: statistics on arrays, tables and summaries; knows no castings, no files.

Rooms:

- `decision/`: Deciding under uncertainty: shares known from few trials, cost until one passes,
  information.
- `directions/`: Vectors and directions in a plane: harmonics round a circle, regions, circular
  statistics.
- `distributions/`: Shapes of distributions: fits to rounded, censored or truncated readings, and
  tests of fit.
- `extremes/`: The thinnest place of a block: predicted, fitted and counted, and where it lies.
- `planning/`: Planning: how much to measure, for power, for width, at the least cost, looking as
  one goes.
- `tolerance/`: Tolerance limits: between which values a stated share of all blocks lies, with
  confidence.

Modules:

- `adjustment.py`: Many p-values asked at once: adjusted so that the whole list keeps its error
  rate.
- `admissible.py`: What single numbers, and numbers read in pairs, must be before anything is done
  with them.
- `agreement.py`: Two gauges (or two operators) on the same places: bias, and how far single
  readings may differ.
- `bootstrap_comparison.py`: Two means of blocks compared by drawing the blocks anew, asked at any
  margin.
- `budget.py`: An uncertainty budget (JCGM 100): components, what they add up to, and what is
  shared.
- `calibration_checks.py`: Does a straight calibration line hold? Lack of fit, bending, one bad
  reading, drift.
- `calibration_fit.py`: Make a calibration line: a ratio from one piece, a line from two or more, or
  a known speed.
- `calibration_line.py`: What a gauge does to a value: indicated = zero + slope x reference, and the
  way back.
- `censoring.py`: Mean and spread of a normal sample, some readings of which only say "at or below
  the limit".
- `conformity.py`: Is a value on the right side of a limit, given its uncertainty? Three answers,
  and the risk.
- `correction_budget.py`: What calibrations leave in a weighted sum of corrected values: what
  cancels, and what adds.
- `crossed_fit.py`: Variance components of readings under several chance factors, crossed or not,
  balanced or not.
- `effects.py`: How large a difference is: in per cent, and in standard deviations between blocks.
- `errors_in_variables.py`: A straight line when both coordinates are uncertain, each by its own
  stated amount (York).
- `estimates.py`: A figure with its interval, and what any comparison must be able to answer.
- `exceedance.py`: How often blocks of one family beat those of another: chances, Cliff's delta,
  beyond the best.
- `few_blocks.py`: What drawing few blocks anew is worth: the coverage behind the name of a
  resampled interval.
- `fisher.py`: Fisher's exact test of two shares, with the conditional odds ratio and its exact
  interval.
- `gauge_analysis.py`: Analyse a gauge study: parts read several times, by one or several operators.
- `gauge_study.py`: What a gauge study found: how much of the spread is gauge, how much person, how
  much parts.
- `grouped_means.py`: Group means on a common footing: one mean a group, factors shared by all, by
  least squares.
- `input_quantity.py`: What is known of one input of a measurement, as a distribution to draw from
  (JCGM 101, 6.4).
- `intervals.py`: Intervals of one sample's figures under normality, from values or from printed
  summaries.
- `inverse_prediction.py`: The true value behind new readings, from a calibration line: estimate,
  uncertainty, limits.
- `kappa.py`: Do observers who grade the same things agree beyond chance? Kappa, with its interval.
- `kenward_roger.py`: Degrees of freedom and adjusted covariance for fixed effects of a mixed model.
- `mann_whitney.py`: Two families by ranks: the exact Mann-Whitney test, ties and all, and the shift
  between them.
- `margin_power.py`: The chance that a margin test comes out as hoped, for a t comparison: exact, no
  far-tail gaps.
- `margins.py`: Margins: superior by more than, not worse than, and equivalent within, for any
  comparison.
- `max_t.py`: The largest of several t's that lean on each other, and the range of several means:
  exact.
- `mean_bootstrap.py`: The bootstrap of means without drawing: what ever more draws of blocks would
  settle at.
- `mean_squares.py`: Intervals of sums and differences of mean squares, where variance components
  come from.
- `nested.py`: Nested variance components by REML, and differences of fixed levels judged against
  them.
- `nested_blocks.py`: Predicted block means: each block's own mean, drawn towards that of its
  family.
- `nested_cells.py`: A table of readings, or of cells, coded for the nested model: counts, means and
  whole numbers.
- `nested_columns.py`: The fixed columns of a nested model: which there are, and which add
  something.
- `nested_components.py`: How well variance components, their ratios and shares are known: profile-
  likelihood intervals.
- `nested_crossed.py`: Random groups that need not lie in each other: blocks, their bores, gauges
  and operators at once.
- `nested_f_test.py`: Several differences of a mixed model at once: the F test of Kenward and Roger.
- `nested_groups.py`: What each group of a fitted nested model contributes: its products with the
  readings.
- `nested_influence.py`: What a difference would be without each block in turn.
- `nested_interaction.py`: Thicker here, not there: whether the difference of two families changes
  from place to place.
- `nested_likelihood.py`: The restricted likelihood of a mixed model at given variances, and its
  derivatives.
- `nested_model.py`: A nested model with the sums it was fitted from, for all that is asked of it
  after the fit.
- `nested_parts.py`: Places in bores in blocks taken apart: block means, bores about them, places
  about those.
- `nested_products.py`: The products a nested design gives its likelihood, without any matrix over
  its readings.
- `nested_profile.py`: The profile of a likelihood: its best where a component, a ratio or a share
  is held at a value.
- `nested_reml.py`: The variances that maximise the restricted or the full likelihood, none below
  zero.
- `nested_resampling.py`: The bootstrap of blocks and then of bores: both drawn anew, from one row a
  bore.
- `nested_residuals.py`: Residual checks of a nested model: which blocks, bores and cells stand out,
  and are they normal.
- `nested_result.py`: A fitted nested model, and the differences it can be asked for.
- `nested_spread_test.py`: Do families share their spreads? The likelihood ratio of common against
  own variances.
- `nested_squares.py`: Mean squares of places in bores in blocks, and what they leave open about the
  next block.
- `nested_sums.py`: The readings of a nested design drawn together into what its likelihood needs.
- `nested_unequal.py`: A nested model in which every family has spreads of its own, the places
  having effects in common.
- `noncentral.py`: The noncentral t distribution and the same integral over an unknown spread,
  deterministic.
- `normal_plot.py`: Ordered values against normal quantiles, with a band that holds for all of them
  at once.
- `outliers.py`: Values far from the rest: reported with their odds, never dropped.
- `paired.py`: Two readings of the same thing: paired differences, matched by place.
- `pairwise.py`: Several families two by two, with one error rate for the whole set of comparisons.
- `passing_share.py`: The share of a normal family that passes all of several limits at once, with
  its uncertainty.
- `permutation.py`: Blocks dealt anew: how often chance alone would set two families this far apart.
- `place_profiles.py`: Thicker here, not there, told block by block: whether families differ more at
  some places.
- `pooled.py`: Two means whose spreads are taken as alike: Student's pooled analysis.
- `pooled_families.py`: Two families set against each other when one, or both, are known from
  printed tables alone.
- `pooling.py`: One answer from several sources: random-effects pooling of printed results.
- `propagation.py`: Propagate distributions through a model by Monte Carlo (JCGM 101), and compare
  with the formula.
- `quantiles.py`: Medians and other quantiles by order statistics: independence, but no assumption
  on the shape.
- `ranks.py`: Several families by ranks: Kruskal-Wallis over all of them, Dunn's comparisons two by
  two.
- `ratio_of_means.py`: How many times one mean is another: Fieller's interval, with the two spreads
  kept apart.
- `reference_pieces.py`: Reference pieces of a calibration: which reading is on which, and how well
  each is known.
- `relative_effect.py`: How often a random candidate exceeds a random reference, whatever the
  shapes: Brunner-Munzel.
- `resampling.py`: The bootstrap of blocks: whole blocks drawn anew, any figure of their summaries,
  in one pass.
- `results.py`: The two answers most questions end in: an interval, and a difference to be asked
  further.
- `samples.py`: What a sample must be before it is analysed: finite numbers in one row, and enough
  of them.
- `several_families.py`: Several means at once: the one-way analysis of variance, with equal and
  with unequal spreads.
- `share_difference.py`: Two shares apart: Newcombe's interval, and the score test of any difference
  with its interval.
- `share_tests.py`: Exact tests of two shares that do not fix the total: Barnard's and Boschloo's,
  at any margin.
- `shares.py`: One share: how many blocks of the family show a feature, and whether a limit is kept.
- `shares_in_blocks.py`: Two shares counted within blocks: how far they lie apart, blocks and not
  places the evidence.
- `sign_permutation.py`: Paired differences with every sign turned: Fisher's permutation test of
  pairs, exact.
- `signed_rank.py`: Paired differences by signed ranks: Wilcoxon's test, exact with ties, and its
  interval.
- `simultaneous.py`: Several intervals that are to hold all at once.
- `single_case.py`: One block held against a family: where it stands, and what a single block cannot
  show.
- `spread.py`: Equality of spread: whether families vary alike, and how many times one variance is
  another.
- `spread_difference.py`: How far two spreads lie apart, in the unit of the values, with freedom
  that minds heavy tails.
- `spread_ratio.py`: How many times one family's spread is the other's, by drawing blocks: no
  normality assumed.
- `welch.py`: Two means with their own spreads: Welch's analysis, from summaries as tables print
  them.
"""
