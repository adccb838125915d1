"""Figures and tables made from results; they compute no statistics."""
