"""The close-out of a session."""
