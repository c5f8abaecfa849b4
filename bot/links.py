"""Links that open a conversation with us: with an invitation, or with what a label is about.

A link's `start` may hold A-Z, a-z, 0-9, "_" and "-", 64 characters at most. What a label names is
written so: letters, figures and "-" as they are, every other byte as "_" and two hex figures.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from bot.language.reading import Outcome, Reading, Request

if TYPE_CHECKING:
    from bot.book.state import State

BASE = "https://t.me"
LONGEST = 64
HINT = "link"
"""What was not understood, where a link was followed that leads nowhere."""
_CODE = re.compile(r"[A-Z2-9]{8}")
_STARTED = re.compile(r"/start(?:@\w+)?\s+(\S+)\s*")


def to(bot: str, payload: str) -> str:
    """The link that opens a talk with a bot of that name and sends `/start payload`."""
    return f"{BASE}/{bot}?start={payload}"


def packed(words: str) -> str:
    """What a label names, as a link can hold it; "" where that is too long.

    >>> packed("F3"), packed("box B"), packed("GECKO234")
    ('F3', 'box_20B', '_47ECKO234')
    """
    plain = "".join(
        chr(byte) if (chr(byte).isalnum() and byte < 128) or byte == ord("-") else f"_{byte:02x}"
        for byte in words.encode()
    )
    if _CODE.fullmatch(plain):  # else it would be taken for an invitation
        plain = f"_{ord(plain[0]):02x}{plain[1:]}"
    return plain if len(plain) <= LONGEST else ""


def unpacked(payload: str) -> str:
    """The inverse of `packed`; what nobody packed comes out as it is.

    >>> unpacked("box_20B"), unpacked("_47ECKO234"), unpacked("a_b")
    ('box B', 'GECKO234', 'a_b')
    """
    parts = re.split(r"_([0-9a-f]{2})", payload)
    if any("_" in each for each in parts[::2]):
        return payload
    coded = b"".join(
        bytes([int(part, 16)]) if number % 2 else part.encode() for number, part in enumerate(parts)
    )
    return coded.decode(errors="replace")


def followed(text: str, state: State) -> Reading | None:
    """What a member asks by following a label's link; None where the message is no such thing.

    It only ever looks something up: a link that somebody else made can change nothing.
    """
    started = _STARTED.fullmatch(text.strip())
    if started is None:
        return None
    request = _lookup(unpacked(started[1]), state)
    if request is None:
        return Reading(Outcome.UNCLEAR, hint=HINT, reasons=("a link that leads nowhere",))
    return Reading(Outcome.REQUEST, request=request, reasons=("a label's link",))


def _lookup(named: str, state: State) -> Request | None:
    tags = {tag.casefold(): tag for tag in state.animals}
    boxes = {name.casefold(): name for name in state.boxes}
    said = named.casefold()
    if said in tags:
        return Request("animal", {"tag": tags[said]})
    box = boxes.get(said.removeprefix("box ").strip())
    if box is not None:
        return Request("box", {"box": box})
    slot = re.fullmatch(r"(.+?)(\d+)", said)
    if slot and slot[1] in boxes:
        return Request("box", {"slot": f"{boxes[slot[1]]}{slot[2]}"})
    return None
