"""A circuit as it was written, how it is edited, and how it is fitted."""
