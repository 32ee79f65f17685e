"""One module a page: PATH, NAME, layout(**_query), register(app, desk)."""
