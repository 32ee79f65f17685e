"""The invented demonstration site: set-up tables and a season of records. Nothing here is real."""
