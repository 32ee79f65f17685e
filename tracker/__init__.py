"""Spoil ledger: how much ground went, from where, to what level, by what, at what carbon."""
