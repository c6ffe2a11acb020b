"""The word that a widget has been painted for the first time.

Textual's own `call_after_refresh` also calls while nothing was painted yet, as an
app starts; what is to wait for the first picture waits for this.
"""

from __future__ import annotations

from textual.message import Message


class ScreenPainted(Message):
    """Sent once, as soon as a widget's first lines are made."""
