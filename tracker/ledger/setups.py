"""Set-up revisions as sites: the tables of a revision, parsed once."""

from __future__ import annotations

import json
from functools import lru_cache

from tracker.domain.site import Site
from tracker.domain.site_tables import site_from_tables
from tracker.errors import SchemaMismatch


@lru_cache(maxsize=16)
def site_of(tables: str) -> Site:
    """The site that the tables of a revision (JSON text) describe.

    Raises SchemaMismatch if this program can no longer read them.
    """
    site, problems = site_from_tables(json.loads(tables))
    if site is None:
        raise SchemaMismatch(f"The recorded set-up cannot be read: {problems[0]}")
    return site
