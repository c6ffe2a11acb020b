"""What is on disk: circuits, journals, settings, the index and the lock."""
