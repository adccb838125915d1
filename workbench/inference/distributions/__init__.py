"""Shapes of distributions: fits to rounded, censored or truncated readings, and tests of fit."""
