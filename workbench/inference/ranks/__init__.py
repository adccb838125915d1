"""By ranks and order alone: no assumption on the shape.

Modules:

- `exceedance.py`: How often blocks of one family beat those of another: chances, Cliff's delta,
  beyond the best.
- `mann_whitney.py`: Two families by ranks: the exact Mann-Whitney test, ties and all, and the shift
  between them.
- `pairwise.py`: The k-th smallest of all differences between two samples, without holding them all.
- `quantiles.py`: Medians and other quantiles by order statistics: independence, but no assumption
  on the shape.
- `relative_effect.py`: How often a random candidate exceeds a random reference, whatever the
  shapes: Brunner-Munzel.
- `several.py`: Several families by ranks: Kruskal-Wallis over all of them, Dunn's comparisons two
  by two.
- `signed_rank.py`: Paired differences by signed ranks: Wilcoxon's test, exact with ties, and its
  interval.
"""
