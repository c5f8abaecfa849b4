"""Whether a weight can be an animal's, by what it weighed last: a guard against slips of the thumb.

The bounds are our own and no figure of the trade: they only decide when to ask.
"""

from __future__ import annotations

from datetime import date

from bot.language.view import View

_LEAP, _FALL = 2.5, 0.4  # times the last weight
_SLACK_A_DAY = 0.02  # by which both bounds widen a day, since young animals grow


def hardly(view: View, tag: object, grams: float, today: date) -> bool:
    """True for a weight in grams that is far above or below the animal's last one."""
    seen = view.animals.get(tag) if isinstance(tag, str) else None
    if seen is None or not seen.grams or seen.weighed is None:
        return False
    slack = 1 + _SLACK_A_DAY * max(0, (today - seen.weighed).days)
    return grams > seen.grams * _LEAP * slack or grams < seen.grams * _FALL / slack
