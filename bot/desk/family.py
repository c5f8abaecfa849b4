"""The people of a book: who is in it, roles changed and taken back, which book one speaks to."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from bot.desk.context import Context
from bot.desk.roles import KEEPERS
from bot.language.reading import Ask, Outcome, Reading, Request, Talk
from bot.messages import Choice, Reply
from bot.wording import listed, say

if TYPE_CHECKING:
    from bot.book.households import Member

GIVEN = ("keeper", "helper", "watcher")
"""The roles that one can be given; an owner stays one."""
NONE = "none"
ME = frozenset(("me", "myself", "i"))
PICK = "pick"
"""What a question is about whose answers are things to say; a number picks one of them."""


# --- who is in it ---------------------------------------------------------------------------


def members(request: Request, ctx: Context) -> Reply:
    """Everybody with their role and how they are reached."""
    everyone = _everyone(ctx)
    if len(everyone) == 1:
        return Reply(say("people.alone"))
    reached = _reached(ctx)
    rows = [
        say(
            "people.row",
            name=each.name,
            role=say(f"people.role_{each.role}"),
            ways=say("people.ways", ways=listed(reached[each.id])) if reached[each.id] else "",
            you=say("people.you") if each.id == ctx.member.id else "",
        )
        for each in everyone
    ]
    from bot.book import family

    conn, household = ctx.pages.conn, ctx.pages.household.id
    here = [say("people.here")] if family.room(conn, household) else []
    head = say("people.head", book=family.book_name(conn, household))
    return Reply("\n".join([head, *rows, *here]))


def _everyone(ctx: Context) -> tuple[Member, ...]:
    from bot.book import households

    return households.of_household(ctx.pages.conn, ctx.pages.household.id)


def _reached(ctx: Context) -> dict[int, list[str]]:
    """By which channels each member is reached, in words."""
    from bot.book import households

    found: dict[int, list[str]] = {each.id: [] for each in _everyone(ctx)}
    for member, channel, _ in households.routes(ctx.pages.conn, ctx.pages.household.id):
        word = say(f"people.by.{channel}") if channel in CHANNELS else ""
        if word and word not in found[member.id]:
            found[member.id].append(word)
    return found


CHANNELS = ("telegram", "sms", "console")


# --- roles ----------------------------------------------------------------------------------


def role(request: Request, ctx: Context) -> Reply:
    """Change what a member may do, or take their access away (role "none"), at once."""
    to, who = str(request.get("role") or ""), str(request.get("who") or "").strip()
    leaving = to == NONE and who.casefold() in ME
    if ctx.member.role not in KEEPERS and not leaving:
        return Reply(say("role.helper"))
    fits = [ctx.member] if who.casefold() in ME else _called(who, _everyone(ctx))
    if len(fits) != 1:
        return _who(who, to, fits, ctx)
    if to not in (*GIVEN, NONE):
        return Reply(say("people.which_role", name=fits[0].name))
    return _change(fits[0], to, ctx)


def _called(who: str, everyone: Sequence[Member]) -> list[Member]:
    """Those whom a name means: by their number ("#3"), by a part of the name, by a role.

    Where one is Mina and another Mina Roe, "Mina" may be either.
    """
    said = who.casefold()
    for fits in (
        [each for each in everyone if said == f"#{each.id}"],
        [each for each in everyone if said and said in each.name.casefold().split()],
        [each for each in everyone if said == each.name.casefold()],
        [each for each in everyone if each.role == said],
    ):
        if fits:
            return fits
    return []


def _who(who: str, to: str, fits: list[Member], ctx: Context) -> Reply:
    """Ask who is meant, with everybody who can be; the number of one is an answer."""
    among = fits or [each for each in _everyone(ctx) if each.role != "owner"]
    if not among:
        return Reply(say("people.alone"))
    if to not in (*GIVEN, NONE):
        return Reply(say("people.which_role", name=among[0].name))
    key = "people.says_none" if to == NONE else "people.says_role"
    choices = tuple(
        Choice(
            say("people.choice", name=each.name, role=say(f"serve.roles.{each.role}")),
            say(key, number=each.id, role=to),
        )
        for each in among
    )
    head = say("people.who") if fits or not who else say("people.unknown", who=who)
    return picking(head, choices, ctx)


def picked(text: str, talk: Talk) -> tuple[str, Talk]:
    """What a number means after such a question, and the talk with that question closed."""
    question = talk.question
    if question is None or question.about != PICK:
        return text, talk
    said = text.strip().rstrip(".)")
    if said.isdecimal() and 1 <= int(said) <= len(question.choices):
        text = question.choices[int(said) - 1]
    return text, replace(talk, question=None)


def outright(text: str) -> Reading | None:
    """What is asked in words that we offer ourselves, and that no name can make unclear."""
    said = " ".join(text.split()).rstrip(".!")
    for pattern, ask, fixed in OFFERED:
        found = re.fullmatch(say(pattern), said, re.IGNORECASE)
        if found is not None:
            named = {name: value.casefold() for name, value in found.groupdict().items()}
            if ask == "settings":
                named = found.groupdict()
            return Reading(Outcome.REQUEST, request=Request(ask, fixed | named))
    return None


OFFERED: tuple[tuple[str, str, dict[str, str]], ...] = (
    ("people.read_role", "role", {}),
    ("people.read_none", "role", {"role": NONE}),
    ("book.read_switch", "household", {}),
    ("book.read_name", "settings", {"set": "name"}),
)


def picking(head: str, choices: tuple[Choice, ...], ctx: Context) -> Reply:
    """A question whose answers are things to say, numbered; the talk remembers the numbers."""
    says = tuple(each.says for each in choices)
    ctx.talk = replace(ctx.talk, question=Ask(PICK, says), offer=None)
    rows = [
        say("talk.choice", number=number, label=each.label)
        for number, each in enumerate(choices, 1)
    ]
    return Reply("\n".join([head, *rows]), choices)


def _change(member: Member, to: str, ctx: Context) -> Reply:
    refused = _refused(member, to, ctx)
    if refused:
        return Reply(refused)
    if to == NONE:
        return _remove(member, ctx)
    called = say(f"serve.roles.{to}")
    if member.role == to:
        return Reply(say("people.same", name=member.name, role=called))
    from bot.book import family

    family.set_role(ctx.pages.conn, member, to, ctx.now)
    if member.id != ctx.member.id:
        _tell(member, say("people.you_are", role=called), ctx)
    return Reply(say("people.now", name=member.name, role=called))


def _refused(member: Member, to: str, ctx: Context) -> str:
    """Why this member can't be changed, or "": a book always has an owner."""
    if member.role != "owner":
        return ""
    if ctx.member.role != "owner":
        return say("people.not_owner")
    owners = [each for each in _everyone(ctx) if each.role == "owner"]
    return say("people.last_owner") if len(owners) == 1 else ""


def _tell(member: Member, text: str, ctx: Context) -> None:
    """Let the one concerned know, by the way that they prefer."""
    from bot.book import households, post

    for other, channel, address in households.ways(ctx.pages.conn, member.household):
        if other.id == member.id and channel != "console":
            post.put_out(ctx.pages.conn, Reply(text), member, channel, address, ctx.now)


def _remove(member: Member, ctx: Context) -> Reply:
    from bot.book import family, post

    conn = ctx.pages.conn
    book = family.book_name(conn, member.household)
    link = family.calendar(conn, member.household) is not None
    ways = family.remove(conn, member, ctx.now)
    if member.id == ctx.member.id:
        return Reply(say("people.left", book=book))
    farewell = Reply(say("people.farewell", book=book))
    for _, channel, address in ways:
        if channel != "console":
            post.put_out(conn, farewell, member, channel, address, ctx.now)
    text = say("people.gone", name=member.name, calendar=say("people.calendar") if link else "")
    grouped = family.room(conn, member.household) is not None
    return Reply(text + (say("people.group", name=member.name) if grouped else ""))


# --- which book -----------------------------------------------------------------------------


def household(request: Request, ctx: Context) -> Reply:
    """Say which book one speaks to and which there are, or speak to another from now on."""
    from bot.book import family

    conn, message = ctx.pages.conn, ctx.message
    mine = [
        (each.id, family.book_name(conn, each.id))
        for each, _ in family.books_at(conn, message.channel, message.address)
    ]
    here = family.book_name(conn, ctx.pages.household.id)
    which = str(request.get("which") or "").strip()
    if not which:
        return _books(say("book.which", book=here), mine, here, ctx)
    fits = _of_name(which, mine)
    if len(fits) != 1:
        return _books(say("book.unknown", which=which), mine, here, ctx)
    number, name = fits[0]
    family.switch(conn, message.channel, message.address, number)
    return Reply(say("book.switched", book=name, before=here))


def _of_name(which: str, books: Sequence[tuple[int, str]]) -> list[tuple[int, str]]:
    """The books meant by a name, whole or in part, or by a number in the list."""
    if which.isdecimal() and 1 <= int(which) <= len(books):
        return [books[int(which) - 1]]
    said = which.casefold()
    if which.startswith("#"):
        return [each for each in books if which == f"#{each[0]}"]
    exact = [each for each in books if each[1].casefold() == said]
    return exact or [each for each in books if said in each[1].casefold()]


def _books(head: str, books: Sequence[tuple[int, str]], here: str, ctx: Context) -> Reply:
    if len(books) < 2:
        return Reply(say("book.only", book=here))
    choices = tuple(Choice(name, say("book.open", number=number)) for number, name in books)
    return picking(head, choices, ctx)
