"""Circuit files: read, judged, written, listed and remembered."""
