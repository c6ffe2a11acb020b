"""Activity files of watches and bike computers, read and compared with the log."""
