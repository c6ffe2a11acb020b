"""What holds for all tests: no property is judged by how fast the machine is.

A plain run draws few examples of each property; `--hypothesis-profile=full` draws all.
"""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("few", deadline=None, max_examples=20)
settings.register_profile("full", deadline=None, max_examples=100)
settings.load_profile("few")
