"""Reading what was done: pure functions from journal lines to records."""
