"""What holds for all tests: no property is judged by how fast the machine is."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
