"""Figures, tables and the words beside them: what the article prints, made from results."""
