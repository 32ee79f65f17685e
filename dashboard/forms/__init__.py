"""One form for every kind of record, made from its columns."""
