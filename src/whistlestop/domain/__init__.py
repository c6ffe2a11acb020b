"""Circuits, their values and their timeline: pure data, integer milliseconds."""
