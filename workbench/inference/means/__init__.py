"""Means compared: two and more families, one block, pairs, printed summaries; effects.

Modules:

- `additive.py`: Means of groups read at unlike places: each freed of which places it happened to
  have.
- `effects.py`: How large a difference is: in per cent, and in standard deviations between blocks.
- `grouped_means.py`: Group means on a common footing: one mean a group, factors shared by all, by
  least squares.
- `intervals.py`: Intervals of one sample's figures under normality, from values or from printed
  summaries.
- `margin_power.py`: The chance that a margin test comes out as hoped, for a t comparison: exact, no
  far-tail gaps.
- `max_t.py`: The largest of several t's that lean on each other, and the range of several means:
  exact.
- `paired.py`: Two readings of the same thing: paired differences, matched by place.
- `pairwise.py`: Several families two by two, with one error rate for the whole set of comparisons.
- `pooled.py`: Two means whose spreads are taken as alike: Student's pooled analysis.
- `pooled_families.py`: Two families set against each other when one, or both, are known from
  printed tables alone.
- `pooling.py`: One answer from several sources: random-effects pooling of printed results.
- `ratio_of_means.py`: How many times one mean is another: Fieller's interval, with the two spreads
  kept apart.
- `several_families.py`: Several means at once: the one-way analysis of variance, with equal and
  with unequal spreads.
- `single_case.py`: One block held against a family: where it stands, and what a single block cannot
  show.
- `welch.py`: Two means with their own spreads: Welch's analysis, from summaries as tables print
  them.
"""
