"""The command line and the line mode."""
