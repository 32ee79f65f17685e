"""Facts: what was recorded. The only rooms that know SQLAlchemy."""
