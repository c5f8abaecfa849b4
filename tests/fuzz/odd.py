"""What a channel, a gateway or somebody with bad intentions may send: made from a seed."""

from __future__ import annotations

import copy
import json
import random
from typing import Any

TAGS = ("F3", "F4", "M2", "B4", "A1", "H12", "f three", "Clementine", "rack A", "box B", "F99")

SAID = (
    "{0} laid 2, box B slot 4", "{0} 21.4g", "{0} laid 2", "{0} in with {1}", "pulled {0}", "{0}?",
    "what's due today", "what's hatching this week", "undo", "no, slot 5", "yes", "1", "done",
    "done 1", "snooze 2h", "skip 1", "candled {0}, veins", "{0} hatched", "moved {0} to {1}",
    "new female {0} leopard", "note {0}: {1}", "remind me friday to weigh {0}", "use celsius",
    "incubator 1 is 81F, 75%", "what's in box B", "history of {0}", "add a helper", "calendar link",
    "export everything", "chart {0} weight", "label for {0}", "{0} x {1} odds", "help", "help {0}",
    "sold {0}", "{0} refused, fed {1} 5 crickets", "was {0} last tuesday", "{0} laid 99999999 eggs",
    "quiet from 10pm to 7am", "zone {0}", "it was {0}", "STOP", "START", "HELP", "MORE", "/start",
)  # fmt: skip

SPITE = (
    "'; DROP TABLE animals; --", '" OR 1=1 --', "F3'); DELETE FROM ledger; --", "${jndi:ldap://x}",
    "<script>alert(1)</script>", "<b>F3</b> & <Response/>", "]]><!--", "*F3* _laid_ `2` [x](y)",
    "{0.__class__} {tag} {}", "%s %d %n %x", "{{7*7}}", "$(reboot)", "`id`", "; rm -rf ~",
    "../../../../etc/passwd", "\\\\host\\share", "note F3: {text}", "F3 is called {name}",
    "\0", "F3\0laid 2", "\x1b[2J\x07", "\r\n\r\nHTTP/1.1 200 OK", "\u202eF3 dial 2\u202c",
    "\u200bF\u200b3\u200b laid\u200b 2", "F3 וילד 2", "م F3 ٢٫٥", "F3 laid ２", "F³ laid ²", "Ⅳ",
    "🦎" * 60, "👩‍👩‍👧‍👦 F3", "e\u0301" * 300, "\u0e47" * 400, "İıŞ ﬁ ß", "9" * 400, "-1", "1e309",
    "1/0", "0x1F", "NaN", "F" * 400, "F3 " * 700, "F3, " * 200 + "laid 2", "B4-B999999", "A1-Z99",
    "(" * 300, '"' * 301, "?" * 500, "\n" * 500, "laid " * 300, "3.4.5.6.7", "31 Feb", "99:99",
    "0000-00-00", "year 99999", "in 99999999999 days", "remind me in 1000000 years to x",
    "F3 laid 2 on 2026-13-45", "every 0 days", "snooze 99999999999h", "zone ../../etc",
)  # fmt: skip

NUMBERS = (0, -1, 1, 2**31, 2**53 + 1, 2**63 - 1, 2**63, -(2**63), 2**70, 10**300, 1.5, -0.0)
VALUES = (
    None, True, False, "", "x", "\0", "\ud800", "12", "12x", "٣", " 5 ", [], {}, [None], [[]],
    {"id": 1}, float("nan"), float("inf"),
)  # fmt: skip


def text(chance: random.Random) -> str:
    """Something that somebody may type, or paste, or shout."""
    kind = chance.random()
    if kind < 0.45:
        return chance.choice(SAID).format(chance.choice(TAGS), chance.choice(TAGS))
    if kind < 0.65:
        return chance.choice(SPITE)
    if kind < 0.8:
        said = chance.choice(SAID).format(chance.choice(TAGS + SPITE), chance.choice(SPITE))
        return _damaged(said, chance)
    if kind < 0.9:
        return "".join(_sign(chance) for _ in range(chance.randrange(1, 120)))
    if kind < 0.96:
        joint = chance.choice([", ", "\n", " and ", " "])
        parts = [text(chance)[:200] for _ in range(chance.randrange(2, 9))]
        return joint.join(parts)
    return (text(chance) * 10_000)[: chance.choice([4096, 4097, 10_000])]


def _damaged(said: str, chance: random.Random) -> str:
    signs = list(said)
    for _ in range(chance.randrange(1, 6)):
        signs.insert(chance.randrange(len(signs) + 1), _sign(chance))
    return "".join(signs)


def _sign(chance: random.Random) -> str:
    top = chance.choice([0x20, 0x7F, 0x7F, 0x250, 0x2100, 0xFFFF, 0x10FFFF])
    return chr(chance.randrange(top + 1))


def anything(chance: random.Random) -> Any:
    """A value that is not what was expected."""
    kind = chance.random()
    if kind < 0.3:
        return chance.choice(NUMBERS)
    if kind < 0.7:
        return copy.deepcopy(chance.choice(VALUES))
    if kind < 0.9:
        return text(chance)
    deep: Any = chance.choice(NUMBERS)
    for _ in range(chance.choice([3, 90, 800])):
        deep = [deep] if chance.random() < 0.5 else {"message": deep}
    return deep


def update(chance: random.Random, number: int, who: int, said: str, now: int) -> dict[str, Any]:
    """An update of Telegram's form, well made: a message, an edit or a press."""
    person = {"id": who, "is_bot": False, "first_name": chance.choice(["Ines", "<b>", "{0}", "م"])}
    chat = {"id": who, "type": "private"}
    message: dict[str, Any] = {
        "message_id": number % 50 + 1, "date": now, "chat": chat, "from": person, "text": said,
    }  # fmt: skip
    kind = chance.random()
    if kind < 0.6:
        return {"update_id": number, "message": message}
    if kind < 0.7:
        return {"update_id": number, "edited_message": message | {"edit_date": now}}
    if kind < 0.8:
        message = message | {"photo": [{"file_id": "photo", "width": 90, "height": 90}]}
        message["caption"] = message.pop("text")
        return {"update_id": number, "message": message}
    if kind < 0.85:
        message = message | {"sticker": {"file_id": "s", "emoji": "🦎"}}
        message.pop("text")
        return {"update_id": number, "message": message}
    data = chance.choice(
        [f"{chance.randrange(40)}:{chance.randrange(4)}", said[:60], "1:1:1", "-1:0"]
    )
    press = {"id": str(number), "from": person, "message": message, "data": data}
    return {"update_id": number, "callback_query": press | {"chat_instance": "1"}}


def mutated(made: Any, chance: random.Random) -> Any:
    """The same with one to four of its parts gone, doubled, renamed or of another kind."""
    made = copy.deepcopy(made)
    for _ in range(chance.randrange(1, 5)):
        holder, key = _place(made, chance)
        if holder is None:
            return anything(chance)
        deed = chance.random()
        if deed < 0.6:
            holder[key] = anything(chance)
        elif deed < 0.85:
            del holder[key]
        elif isinstance(holder, dict):
            holder[str(anything(chance))[:50]] = holder.pop(key)
        else:
            holder.append(holder[key])
    return made


def _place(made: Any, chance: random.Random) -> tuple[Any, Any]:
    """Some part of it: what holds it, and under what key."""
    places = []
    waiting = [made]
    while waiting and len(places) < 300:
        holder = waiting.pop()
        keys = (
            holder
            if isinstance(holder, dict)
            else range(len(holder))
            if isinstance(holder, list)
            else ()
        )
        for key in keys:
            places.append((holder, key))
            waiting.append(holder[key])
    return chance.choice(places) if places else (None, None)


def as_json(value: Any, chance: random.Random) -> bytes:
    """The JSON of it; now and then cut off, doubled, or no JSON at all."""
    try:
        body = json.dumps(value, ensure_ascii=chance.random() < 0.5)
    except RecursionError:
        body = "[" * 3000
    raw = body.encode("utf-8", "surrogatepass")
    kind = chance.random()
    if kind < 0.9:
        return raw
    return chance.choice(
        [raw[: len(raw) // 2], raw * 2, b"\xff\xfe" + raw, b"", b"[" * 9000, b"null"]
    )


def form(chance: random.Random, number: int, who: str, said: str) -> dict[str, str]:
    """A message as the gateway posts it."""
    made = {
        "AccountSid": "AC1", "MessageSid": f"SM{number:032d}", "From": who, "To": "+351210000000",
        "Body": said, "NumMedia": "0",
    }  # fmt: skip
    if chance.random() < 0.1:
        made |= {"MediaUrl0": "https://m.example/" + said[:50], "MediaContentType0": "image/jpeg"}
    return made


def mutated_form(made: dict[str, str], chance: random.Random) -> dict[str, str]:
    """The same with fields gone, odd or added; all of them still text, as forms are."""
    made = dict(made)
    more = (
        "MessageStatus",
        "ErrorCode",
        "OptOutType",
        "MediaUrl0",
        "SmsStatus",
        "Body",
        "From",
        "X",
    )
    for _ in range(chance.randrange(1, 4)):
        key = chance.choice([*made, *more])
        if chance.random() < 0.3:
            made.pop(key, None)
        else:
            states = ["delivered", "failed", "received", "21610", "STOP", "+351912345678", "+", ""]
            made[key] = chance.choice([str(anything(chance))[:3000], chance.choice(states)])
    return {key: value.encode("utf-8", "replace").decode() for key, value in made.items()}
