"""Spoil ledger: how much ground went, from which zone, to what level, by what, and at what carbon."""
