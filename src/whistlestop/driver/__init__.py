"""Drivers' common ground: clock, engine, journal and sound brought together."""
