"""whistlestop: timed exercise circuits, run live, and the record of them."""

__version__ = "0.1.0"
