"""Notebooks run headless: parameters checked first, the report, the manifest."""
