"""The only way out: frozen answers with their basis."""
