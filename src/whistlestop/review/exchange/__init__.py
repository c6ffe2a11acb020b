"""The log as text for other programs, and their text read in. Pure: text in and out."""
