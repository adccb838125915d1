"""Tolerance limits: between which values a stated share of all blocks lies, with confidence.

Modules:

- `fitted.py`: Tolerance limits of lognormal and Weibull families.
- `limits.py`: What a tolerance interval is, and what may be asked of one.
- `nested.py`: Tolerance and prediction limits for the next block, when readings lie in bores of
  blocks.
- `normal.py`: Tolerance limits of a normal sample, by exact factors.
- `order_statistics.py`: Tolerance limits by ranks: independent blocks, any continuous shape.
"""
