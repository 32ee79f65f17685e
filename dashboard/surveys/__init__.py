"""What the screens show and ask of surveyed ground."""
