"""Five parties state the same ground: adjusted estimates, the suspect, calibration and drift."""
