"""Shapes of distributions: fits to rounded, censored or truncated readings, and tests of fit.

Modules:

- `catalogue.py`: The families offered, by name.
- `cells.py`: Readings laid out for tests of fit: points where they are not rounded, else counts in
  cells.
- `compare.py`: Every family on the same readings, side by side.
- `draws.py`: Samples drawn from a fit: independent readings, or readings alike within blocks and
  bores.
- `edf.py`: Distances between a sample and a distribution, for points and for counts in cells.
- `extreme.py`: Extreme values for minima searched so that every reading stays possible.
- `family.py`: What a fit needs to know of a family: coordinates to search in, and their likelihood.
- `fit.py`: A distribution fitted to readings by maximum likelihood, and what the fit can be asked.
- `goodness.py`: Does the family fit: four distances of the readings from it, judged by drawing from
  the fit.
- `grouped_goodness.py`: Does the family fit readings that lie in bores of blocks, and so are alike.
- `inverse.py`: Where rising functions, many at once, reach what is asked of each: distributions
  inverted.
- `kernel.py`: A kernel estimate of a density: a smooth histogram, to look at and never to decide
  by.
- `likelihood.py`: The likelihood of readings under a family, for many rows of coordinates at once.
- `maximise.py`: The maximum of a smooth function of a few coordinates within bounds, by Newton's
  steps.
- `mixture.py`: Two normal populations in one sample: two pours, or two core boxes.
- `nested_normality.py`: Are block effects normal, and bores within blocks, and places within bores.
- `one_step.py`: Readings of several steps brought to one, for tests that count readings in common
  cells.
- `profile.py`: Intervals by profile likelihood, of any figure of a fit: parameters, quantiles,
  shares below.
- `readings.py`: Readings as intervals with counts: rounded to a step, beyond a limit, or seen
  through a window.
- `refits.py`: A family fitted to many drawn samples at once, from the fit they were drawn from.
- `samples_drawn.py`: Many samples of one design at once: their likelihoods, and their distances
  from a family.
- `sprung.py`: The best fit of readings whose figure has a value, and how far a figure may go.
- `standard.py`: Standard shapes: densities, both tails and quantiles of a variate without location
  and scale.
- `two_peaks.py`: One population or two: two pours, or two core boxes, under one family name.
"""
