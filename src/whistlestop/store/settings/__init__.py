"""The settings file, what the program remembers, and who trains."""
