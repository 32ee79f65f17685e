"""The form of a dig return: its fields, its words, and what it writes."""
