"""The Floor: the live screen, read from metres away."""
