"""Which caution stands on the Floor, and when."""

from __future__ import annotations

from whistlestop.domain.plan.plan import AT_STATION, SegmentKind
from whistlestop.engine.view import View
from whistlestop.library.cautions import CAUTIONS


def caution_for(view: View) -> str:
    """The caution of a station, where and when it is used: in the first loop."""
    card = view.card if view.kind in AT_STATION else None
    if (
        view.kind in (SegmentKind.RECOVER, SegmentKind.GET_READY, SegmentKind.HOLD)
        and view.coming
    ):
        card = view.coming.card if view.coming.loop == 1 else None
    if card is None or view.loop not in (None, 1):
        return ""
    for code in card.cautions:
        if code in CAUTIONS:
            return CAUTIONS[code].live
    return ""
