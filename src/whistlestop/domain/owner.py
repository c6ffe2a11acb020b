"""Whose machine and whose log it is. Light: nearly everything asks for it."""

from __future__ import annotations

from typing import Final

OWNER: Final = "a1"
