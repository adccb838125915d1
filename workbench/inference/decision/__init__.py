"""Deciding under uncertainty: shares known from few trials, cost until one passes, information.

Modules:

- `options.py`: What can be chosen when a share is uncertain, and what it is worth to know more
  first.
- `perfect_information.py`: What it would be worth to know every share before choosing.
- `sample_information.py`: What it is worth to see some further trials before choosing, exactly
  (preposterior analysis).
- `sensitivity.py`: Which uncertain input moves a result most: one at a time, and all at once.
- `simulated_information.py`: The value of information from joint draws of the shares, with the
  error of the simulation.
- `three_point.py`: A number known by its least, likeliest and greatest value, as a distribution to
  draw from.
- `trial_costs.py`: What it costs to try one after another until one passes: in the long run, and
  this once.
- `trials.py`: How many trials until enough have passed, when the share that passes is not known
  well.
- `uncertain_share.py`: What is known of a share, from few trials or from a model: a distribution
  over 0 to 1.
"""
