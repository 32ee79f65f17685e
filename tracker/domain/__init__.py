"""Truths: what can be computed. Pure functions, sourced factors; no clock, database, pandas."""
