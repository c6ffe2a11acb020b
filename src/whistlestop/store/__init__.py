"""What is kept on disk: circuits, journals, settings, the index and the lock."""
