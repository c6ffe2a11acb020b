"""Journals: written, read back, indexed, verified and locked."""
