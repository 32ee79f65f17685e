"""What the page Spoil out shows and writes."""
