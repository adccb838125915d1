"""Blocks drawn or dealt anew: bootstrap and permutation.

Modules:

- `blocks.py`: The bootstrap of blocks: whole blocks drawn anew, any figure of their summaries, in
  one pass.
- `blocks_and_bores.py`: The bootstrap of blocks and then of bores: both drawn anew, from one row a
  bore.
- `comparison.py`: Two means of blocks compared by drawing the blocks anew, asked at any margin.
- `few_blocks.py`: What drawing few blocks anew is worth: the coverage behind the name of a
  resampled interval.
- `means.py`: The bootstrap of means without drawing: what ever more draws of blocks would settle
  at.
- `permutation.py`: Blocks dealt anew: how often chance alone would set two families this far apart.
- `quantiles.py`: The bootstrap of medians and other quantiles without drawing: exact, from order
  statistics.
- `sign_permutation.py`: Paired differences with every sign turned: Fisher's permutation test of
  pairs, exact.
"""
