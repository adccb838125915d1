"""Readings kept over years: additions that stand for good, each whole or not there at all.

Modules:
"""
