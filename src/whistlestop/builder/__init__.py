"""The builder: a new circuit from a request, with its reasons, by a seeded search.

Pure functions of a request, the library and a seed. Refuses to know files, clocks
and how anything is shown.
"""
