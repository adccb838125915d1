"""From what a gauge shows to what is so: calibration, budgets, gauge studies, agreement, limits.

Modules:

- `agreement.py`: Two gauges (or two operators) on the same places: bias, and how far single
  readings may differ.
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
- `errors_in_variables.py`: A straight line when both coordinates are uncertain, each by its own
  stated amount (York).
- `gauge_analysis.py`: Analyse a gauge study: parts read several times, by one or several operators.
- `gauge_study.py`: What a gauge study found: how much of the spread is gauge, how much person, how
  much parts.
- `input_quantity.py`: What is known of one input of a measurement, as a distribution to draw from
  (JCGM 101, 6.4).
- `inverse_prediction.py`: The true value behind new readings, from a calibration line: estimate,
  uncertainty, limits.
- `kappa.py`: Do observers who grade the same things agree beyond chance? Kappa, with its interval.
- `propagation.py`: Propagate distributions through a model by Monte Carlo (JCGM 101), and compare
  with the formula.
- `reference_pieces.py`: Reference pieces of a calibration: which reading is on which, and how well
  each is known.
"""
