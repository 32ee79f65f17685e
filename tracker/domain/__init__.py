"""Truths: what can be computed. Pure functions and sourced factors; no clock, no database, no pandas."""
