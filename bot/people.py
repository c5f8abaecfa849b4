"""The people of a household at one moment: who should have its reminders, and how each is reached.

Read once in a transaction and then asked; it sees what was in the book when it was made.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, select, update

from bot.book import family, households, post, standins
from bot.book.households import Household, Member
from bot.book.standins import StandIn
from bot.book.tables import members, outbox
from bot.messages import Outgoing, Reply

KEEPERS = ("owner", "keeper")
"""Who gets reminders as a matter of course."""
MAY_HELP = (*KEEPERS, "helper")
"""Who can stand in, and to whom an unanswered reminder may be passed on; never a watcher."""
AUDIBLE = ("sms",)
"""Channels that know no silent message."""


class People:
    """One household's members at a moment, with their ways, their hours and who stands in."""

    def __init__(self, conn: Connection, household: Household, now: datetime) -> None:
        self.conn = conn
        self.household = household
        self.now = now
        self.members = {m.id: m for m in households.of_household(conn, household.id)}

    @property
    def zone(self) -> ZoneInfo:
        """The household's zone: its dates are the ones the book is kept in."""
        return ZoneInfo(self.household.zone)

    @property
    def today(self) -> date:
        """The household's local date."""
        return self.now.astimezone(self.zone).date()

    def name_of(self, number: int | None) -> str:
        """A member's name, also of one who has left; the book's where it was nobody."""
        if number in self.members:
            return self.members[number].name
        name = self.conn.execute(select(members.c.name).where(members.c.id == number)).scalar()
        return name or self.household.name

    @cached_property
    def ways(self) -> dict[int, list[tuple[str, str]]]:
        """Channel and address of each: the one they prefer; the console shows it besides."""
        found = {m.id: [(c, a)] for m, c, a in households.ways(self.conn, self.household.id)}
        for member, channel, address in households.routes(self.conn, self.household.id):
            # Nobody carries a console about.
            if channel == "console" and (channel, address) not in found[member.id]:
                found[member.id].append((channel, address))
        return found

    @cached_property
    def room(self) -> str | None:
        """The group in which reminders are told, if one is."""
        return family.room(self.conn, self.household.id)

    @cached_property
    def inside(self) -> frozenset[int]:
        """The members who hear what is told in the group."""
        return family.inside(self.conn, self.household.id)

    def hearing(self, told: Iterable[int]) -> list[int]:
        """Who hears it where these are told: with one in the group, everybody in it."""
        found = list(told)
        if not self.inside.isdisjoint(found):
            found += [each for each in self.members if each in self.inside and each not in found]
        return found

    def one_voice(self, told: Iterable[int]) -> list[int]:
        """Of these, those to send to, so that the group is told once."""
        found = list(told)
        spare = [each for each in found if each in self.inside][1:]
        return [each for each in found if each not in spare]

    def tell(self, member: Member, reply: Reply) -> list[Outgoing]:
        """Put in the outbox what all may hear: in the group, where this member is in it."""
        if self.room is None or member.id not in self.inside:
            return self.send(member, reply)
        to = (member, family.GROUPS, self.room)
        return [post.put_out(self.conn, reply, *to, self.now)]

    @cached_property
    def running(self) -> dict[int, StandIn]:
        """The standing in that runs now, by the number of the one who is away."""
        return {
            each.for_member: each
            for each in standins.unreported(self.conn, self.household.id)
            if each.starts <= self.now < each.ends and self.may_help(each.member)
        }

    def may_help(self, number: int) -> bool:
        """Whether a member is (still) one who can do the work."""
        return number in self.members and self.members[number].role in MAY_HELP

    def away(self, member: Member) -> bool:
        """Whether somebody stands in for them now."""
        return member.id in self.running

    def stands_in_for(self, member: Member) -> list[Member]:
        """For whom they stand in now."""
        away = [each.for_member for each in self.running.values() if each.member == member.id]
        return [self.members[each] for each in away if each in self.members]

    def first(self) -> list[Member]:
        """Who should have reminders now: keepers, and who stands in instead of one of them."""
        standing_in = {each.member for each in self.running.values()}
        return [
            each
            for each in self.members.values()
            if each.id in standing_in or (each.role in KEEPERS and not self.away(each))
        ]

    def next(self, told: Iterable[int]) -> Member | None:
        """To whom a reminder goes that nobody answered: of those not told, the next in line.

        First whoever has reminders anyway, then helpers in order of joining, at the last one who
        is away. Who sleeps or can't be reached is passed over; None: there is nobody now.
        """
        first = self.first()
        helpers = [m for m in self.members.values() if m.role == "helper" and m not in first]
        away = [m for m in self.members.values() if m.role in KEEPERS and m not in first]
        line = [m for m in (*first, *helpers, *away) if m.id not in set(told)]
        return next((m for m in line if self.reached(m) and self.awake(m)), None)

    def reached(self, member: Member) -> bool:
        """Whether there is an open way to them."""
        return bool(self.ways.get(member.id)) or member.id in self.inside

    def awake(self, member: Member) -> bool:
        """Whether it is not in their quiet hours."""
        return not quiet(member, self.household, self.now)

    def whom_to_ask(self, member: Member) -> str:
        """Whom a helper rings: the one they stand in for, else the owner. "" for a keeper."""
        stands_for = [each.name for each in self.stands_in_for(member)]
        if stands_for:
            return stands_for[0]
        if member.role in KEEPERS:
            return ""
        return next((m.name for m in self.members.values() if m.role == "owner"), "")

    def send(self, member: Member, reply: Reply) -> list[Outgoing]:
        """Put a message in the outbox, by each of their ways."""
        out = []
        for channel, address in self.ways.get(member.id, ()):
            each = post.put_out(self.conn, reply, member, channel, address, self.now)
            if reply.silent and channel in AUDIBLE and not self.awake(member):
                self._hold(each, quiet_end(member, self.household, self.now))
            out.append(each)
        return out

    def _hold(self, each: Outgoing, until: datetime | None) -> None:
        """What would ring at night waits for the morning."""
        if until is not None:
            self.conn.execute(update(outbox).where(outbox.c.id == each.id).values(not_before=until))


def quiet(member: Member, household: Household, now: datetime) -> bool:
    """Whether it is now in this member's quiet hours: a reminder then waits for their end."""
    if not member.quiet_from or not member.quiet_to:
        return False
    wall = now.astimezone(_zone(member, household)).strftime("%H:%M")
    if member.quiet_from <= member.quiet_to:
        return member.quiet_from <= wall < member.quiet_to
    return wall >= member.quiet_from or wall < member.quiet_to


def quiet_end(member: Member, household: Household, after: datetime) -> datetime | None:
    """When this member's quiet hours next end; None where they keep none."""
    if not member.quiet_to:
        return None
    return next_at(time.fromisoformat(member.quiet_to), _zone(member, household), after)


def next_at(wall: time, zone: ZoneInfo, after: datetime) -> datetime:
    """The next moment at which it is that time of day."""
    day = after.astimezone(zone).date()
    found = datetime.combine(day, wall, zone)
    return found if found > after else datetime.combine(day + timedelta(days=1), wall, zone)


def _zone(member: Member, household: Household) -> ZoneInfo:
    return ZoneInfo(member.zone or household.zone)
