"""What the screen shows of a reconciliation."""
