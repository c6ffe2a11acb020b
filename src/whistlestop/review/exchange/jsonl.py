"""The log as JSON Lines: one object an item, UTF-8, no value lost or rounded.

Refuses to know files. The fields are those of `log --json`.
"""

from __future__ import annotations

import json
from collections.abc import Iterable

from whistlestop.review.items import LogItem, item_json


def jsonl_text(items: Iterable[LogItem]) -> str:
    """The items, each as one line of JSON, in the order given."""
    return "".join(
        json.dumps(item_json(item), ensure_ascii=True, allow_nan=False) + "\n"
        for item in items
    )
