"""The interval engine: handed the time, it says what happens. No clock, no I/O."""
