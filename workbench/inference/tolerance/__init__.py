"""Tolerance limits: between which values a stated share of all blocks lies, with confidence."""
