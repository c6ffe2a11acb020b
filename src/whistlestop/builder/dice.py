"""Whole numbers at random from a seed, the same on every machine.

The generator known as SplitMix64: Steele, Lea and Flood 2014, Fast splittable
pseudorandom number generators.
"""

from __future__ import annotations

from typing import Final

_ALL: Final = (1 << 64) - 1


class Dice:
    """A generator that begins with a seed."""

    def __init__(self, seed: int) -> None:
        """Begin with a seed; negative ones and large ones wrap."""
        self._state = seed & _ALL

    def long_bits(self) -> int:
        """64 random bits."""
        self._state = z = (self._state + 0x9E3779B97F4A7C15) & _ALL
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & _ALL
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & _ALL
        return z ^ (z >> 31)

    def bits(self) -> int:
        """32 random bits."""
        return self.long_bits() >> 32

    def below(self, count: int) -> int:
        """A number from 0 to `count` - 1, `count` far below 2**32."""
        return (self.bits() * count) >> 32
