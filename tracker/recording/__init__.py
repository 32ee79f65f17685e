"""The only way in: validate, append, say what was written."""
