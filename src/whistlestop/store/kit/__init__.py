"""The files of what is owned and what is left out."""
