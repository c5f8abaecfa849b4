"""A member's settings (quiet hours, units, digest) and a household's (zone, name, passing on)."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from bot.desk.context import Context
from bot.desk.reach import by_channel
from bot.desk.roles import KEEPERS
from bot.language.reading import Request
from bot.messages import Reply
from bot.wording import say

OFF = frozenset({"off", "none", "no", "never", ""})
TEMPERATURES = {"c": "C", "celsius": "C", "°c": "C", "f": "F", "fahrenheit": "F", "°f": "F"}
WEIGHTS = {
    "g": "g", "gram": "g", "grams": "g", "oz": "oz", "ounce": "oz", "ounces": "oz",
}  # fmt: skip
_CLOCK = re.compile(r"\b([01]?\d|2[0-3]):([0-5]\d)\b")
LONGEST_NAME = 40  # characters of what a book is called
SHORTEST_WAIT, LONGEST_WAIT = 5, 1440  # minutes that an answer may be waited for
USUAL = frozenset({"usual", "on", "yes", "default"})


def settings(request: Request, ctx: Context) -> Reply:
    """Change one setting and say how it is now; with nothing to change, say them all."""
    name, to = request.get("set"), request.get("to")
    if name not in SET:
        return Reply(_all(ctx))
    if to is None:
        return Reply(say(f"settings.how_{name}"))
    said = SET[name](str(to).strip(), ctx)
    return Reply(said or say(f"settings.how_{name}"))


def _all(ctx: Context) -> str:
    member = ctx.member
    quiet = (
        say("settings.from_to", start=member.quiet_from, end=member.quiet_to)
        if member.quiet_from and member.quiet_to
        else say("settings.off")
    )
    return say(
        "settings.all",
        quiet=quiet,
        temperature=say(f"settings.unit_{member.temperature}"),
        weight=say(f"settings.unit_{member.weight}"),
        zone=member.zone or ctx.pages.household.zone,
        digest=member.digest or say("settings.off"),
        pass_on=_wait_said(ctx),
    )


def _update(ctx: Context, **columns: Any) -> None:
    from bot.book.households import update_member

    update_member(ctx.pages.conn, ctx.member.id, **columns)


def _times(to: str) -> list[str]:
    return [f"{int(hour):02d}:{minute}" for hour, minute in _CLOCK.findall(to)]


def _quiet(to: str, ctx: Context) -> str | None:
    if to.casefold() in OFF:
        _update(ctx, quiet_from=None, quiet_to=None)
        return say("settings.quiet_off")
    times = _times(to)
    if len(times) != 2:
        return None
    _update(ctx, quiet_from=times[0], quiet_to=times[1])
    return say("settings.quiet", start=times[0], end=times[1])


def _unit(column: str, known: dict[str, str]) -> Callable[[str, Context], str | None]:
    def change(to: str, ctx: Context) -> str | None:
        unit = known.get(to.casefold())
        if unit is None:
            return None
        _update(ctx, **{column: unit})
        return say(f"settings.{column}", unit=say(f"settings.unit_{unit}"))

    return change


def _zone(to: str, ctx: Context) -> str | None:
    """The owner moves the book; anybody else says by which clock they sleep and get up."""
    try:
        zone = ZoneInfo(to)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return say("settings.no_zone", zone=to)
    time = ctx.now.astimezone(zone).strftime("%H:%M")
    if ctx.member.role != "owner":
        _update(ctx, zone=zone.key)
        book = ctx.pages.household.zone
        return say("settings.own_zone", zone=zone.key, time=time, book=book)
    ctx.pages.move(zone.key)
    return say("settings.zone", zone=zone.key, time=time)


def _digest(to: str, ctx: Context) -> str | None:
    if to.casefold() in OFF:
        _update(ctx, digest=None)
        return say("settings.digest_off")
    times = _times(to)
    if len(times) != 1:
        return None
    _update(ctx, digest=times[0])
    return say("settings.digest", time=times[0])


def _name(to: str, ctx: Context) -> str | None:
    from bot.book.households import set_name

    if ctx.member.role not in KEEPERS:
        return say("role.helper")
    name = " ".join(to.strip("\"' ").split())
    if not name or len(name) > LONGEST_NAME:
        return None
    set_name(ctx.pages.conn, ctx.pages.household.id, name)
    return say("settings.name", name=name)


def _pass_on(to: str, ctx: Context) -> str | None:
    """After how many minutes a reminder that nobody answered goes to the next person."""
    from bot.book.reminders import set_pass_on

    if ctx.member.role not in KEEPERS:
        return say("role.helper")
    off, usual = to.casefold() in OFF, to.casefold() in USUAL
    minutes = int(to) if to.isascii() and to.isdecimal() and len(to) < 6 else 0
    if not (off or usual or SHORTEST_WAIT <= minutes <= LONGEST_WAIT):
        return None
    set_pass_on(ctx.pages.conn, ctx.pages.household.id, None if usual else minutes)
    return say("settings.pass_on_off" if off else "settings.pass_on", wait=_wait_said(ctx))


def _wait_said(ctx: Context) -> str:
    """ "off", "45 minutes", "2 hours"."""
    from bot.book.reminders import pass_on_after

    wait = pass_on_after(ctx.pages.conn, ctx.pages.household.id)
    if wait is None:
        return say("settings.off")
    minutes = round(wait.total_seconds() / 60)
    if minutes % 60:
        return say("settings.minutes", n=minutes)
    return say("settings.hours", n=minutes // 60)


SET: dict[str, Callable[[str, Context], str | None]] = {
    "quiet": _quiet,
    "temperature": _unit("temperature", TEMPERATURES),
    "weight": _unit("weight", WEIGHTS),
    "zone": _zone,
    "digest": _digest,
    "name": _name,
    "pass_on": _pass_on,
    "channel": by_channel,
}
