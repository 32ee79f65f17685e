"""Pure drawings: a statement in, a figure out. One module a subject."""
