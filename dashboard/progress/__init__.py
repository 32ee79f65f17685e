"""What Progress shows, part by part: the page wires them together."""
