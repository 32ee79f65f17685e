"""Surveyed points from files: one module a format, a sentence for each way to be wrong."""
