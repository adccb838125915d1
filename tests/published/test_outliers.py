"""Outlier tests against handbook tables and printed examples."""

import pytest

from workbench.inference.outliers import generalised_esd, grubbs

# Tietjen & Moore (1972), uranium; NIST/SEMATECH e-Handbook 1.3.5.17.1 (data read in a public test).
URANIUM = (199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57)

# Grubbs (1969), Technometrics 11, 1-21: breaking strength of copper wire (from memory).
WIRE = (568, 570, 570, 570, 572, 572, 572, 578, 584, 596)

# Rosner (1983), NIST/SEMATECH e-Handbook 1.3.5.17.3 (data and table read in public tests).
ROSNER = """-0.25 0.68 0.94
1.15 1.20 1.26 1.26 1.34 1.38 1.43 1.49 1.49 1.55 1.56 1.58 1.65 1.69 1.70
1.76 1.77 1.81 1.91 1.94 1.96 1.99 2.06 2.09 2.10 2.14 2.15 2.23 2.24 2.26 2.35 2.37 2.40 2.47 2.54
2.62 2.64 2.90 2.92 2.92 2.93 3.21 3.26 3.30 3.59 3.68 4.30 4.64 5.34 5.42 6.01"""
ROSNER_STATISTICS = (3.118, 2.942, 3.179, 2.810, 2.815, 2.848, 2.279, 2.310, 2.101, 2.067)
ROSNER_CRITICAL = (3.158, 3.151, 3.143, 3.136, 3.128, 3.120, 3.111, 3.103, 3.094, 3.085)


def test_uranium() -> None:
    upper, both = grubbs(URANIUM, "upper"), grubbs(URANIUM)
    assert upper.statistic == pytest.approx(2.4687, abs=1e-4)
    assert (upper.place, upper.value) == (7, 245.57)
    assert upper.critical() == pytest.approx(2.032, abs=5e-4)
    assert both.critical() == pytest.approx(2.127, abs=5e-4)


def test_copper_wire() -> None:
    found = grubbs(WIRE, "upper")
    assert found.statistic == pytest.approx(2.39, abs=5e-3)
    assert found.critical() == pytest.approx(2.176, abs=5e-4)
    assert found.critical(0.99) == pytest.approx(2.410, abs=5e-4)


@pytest.mark.parametrize(("n", "critical"), [(5, 1.715), (10, 2.290), (20, 2.709), (30, 2.908)])
def test_critical_values_of_the_two_sided_table(n, critical) -> None:
    """Grubbs (1969), two-sided 5 % (read in a public test)."""
    assert grubbs(range(n)).critical() == pytest.approx(critical, abs=1e-3)


def test_rosner() -> None:
    found = generalised_esd([float(word) for word in ROSNER.split()], 10)
    assert [step.statistic for step in found.steps] == pytest.approx(ROSNER_STATISTICS, abs=1.1e-3)
    assert [step.critical for step in found.steps] == pytest.approx(ROSNER_CRITICAL, abs=1.1e-3)
    assert [found.steps[i].value for i in range(3)] == [6.01, 5.42, 5.34]
    assert found.suspects == (53, 52, 51)
