"""Shares: of one family, of two, exactly and within blocks.

Modules:

- `count.py`: One share: how many blocks of the family show a feature, and whether a limit is kept.
- `difference.py`: Two shares apart: Newcombe's interval, and the score test of any difference with
  its interval.
- `fisher.py`: Fisher's exact test of two shares, with the conditional odds ratio and its exact
  interval.
- `in_blocks.py`: Two shares counted within blocks: how far they lie apart, blocks and not places
  the evidence.
- `passing.py`: The share of a normal family that passes all of several limits at once, with its
  uncertainty.
- `unconditional.py`: Exact tests of two shares that do not fix the total: Barnard's and Boschloo's,
  at any margin.
"""
