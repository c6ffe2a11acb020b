"""The rooms beside the Floor: what comes before a session, and after it."""
