"""The phone through the Bot API: pictures, the group, links, the menu, long answers, odd signs."""

from __future__ import annotations

import json
import sqlite3
from typing import Any

import pytest

from bot.serve.words import words
from tests.serve.conftest import OWNER, STRANGER, Serving, wait_for
from tests.serve.standin import StandIn

pytestmark = pytest.mark.slow
GROUP = -4_010_203_040
HERE = {"chat": {"id": GROUP, "type": "group", "title": "Gecko room"}}


def texts(standin: StandIn, who: int = OWNER) -> list[str]:
    return [call["text"] for call in standin.said(who)]


def said(standin: StandIn, text: str, **more: Any) -> str:
    """What the owner is answered."""
    before = len(standin.said(OWNER))
    standin.write(OWNER, text, **more)
    return str(wait_for(lambda: texts(standin)[before:])[0])


def buttons(sent: dict[str, Any]) -> list[str]:
    rows = json.loads(sent.get("reply_markup") or '{"inline_keyboard": []}')["inline_keyboard"]
    return [button["text"] for row in rows for button in row]


def test_the_picture_of_a_candled_egg_comes_back_with_the_egg(
    owned: Serving, standin: StandIn
) -> None:
    """A photo with a caption is the record and its picture; of that egg, the newest."""
    for each in ("veins-1", "veins-2", "other"):
        standin.emulator.assets[each] = {"data": b"x"}
    for text in ("new female F3 picta", "new box B, 3 by 4, incubator 1", "F3 laid 2, B4 and B5"):
        said(standin, text)
    for slot, file in (("B4", "veins-1"), ("B5", "other"), ("B4", "veins-2")):
        photo = {"photo": [{"file_id": "small"}, {"file_id": file}]}
        assert slot in said(standin, "", caption=f"candled {slot}, veins", **photo)
    assert "B4" in said(standin, "is B4 fertile?")
    shown = wait_for(lambda: standin.of("sendPhoto"))
    assert [call["photo"] for call in shown] == ["veins-2"]


def test_the_group_is_answered_when_it_asks_and_told_once(owned: Serving, standin: StandIn) -> None:
    """Talk is left alone; a command is answered there; the log has the member who wrote it."""
    standin.write(OWNER, "good morning all", **HERE)
    standin.write(STRANGER, "/today@standin_bot", **HERE)
    standin.write(STRANGER, "/today@standin_bot", **HERE)
    standin.write(OWNER, "@standin_bot new female F3 picta", **HERE)
    standin.write(OWNER, "/here@standin_bot", **HERE)
    wait_for(lambda: "told here" in (texts(standin, GROUP) or [""])[-1])
    private, record, _ = texts(standin, GROUP)
    assert "private book" in private
    assert record.startswith("New female F3")
    assert len(standin.said(OWNER)) == 1
    with sqlite3.connect(owned.book) as book:
        query = "SELECT m.name, g.chat FROM ledger l JOIN members m ON m.id = l.member "
        joined = "JOIN messages g ON g.id = l.message"
        assert book.execute(query + joined).fetchall() == [("Ines", str(GROUP))]


def test_an_invitation_is_a_link_that_lets_one_in(owned: Serving, standin: StandIn) -> None:
    """The link has the bot's own name; who follows it and taps Start is in."""
    shared = said(standin, "add a helper")
    code = shared.splitlines()[-1]
    assert f"https://t.me/standin_bot?start={code}" in shared
    standin.write(STRANGER, f"/start {code}")
    assert "helper" in wait_for(lambda: texts(standin, STRANGER))[0]
    said(standin, "new female F3 picta")
    standin.write(STRANGER, "/start F3")
    assert wait_for(lambda: texts(standin, STRANGER)[1:])[0].startswith("F3: female picta")


def test_the_menu_and_a_long_answer_that_is_short_first(owned: Serving, standin: StandIn) -> None:
    """Every command is set and is answered; More puts the whole answer in the message's place."""
    menu = json.loads(standin.of("setMyCommands")[-1]["commands"])
    known = [each["command"] for each in words()["commands"] if "about" in each]
    assert [each["command"] for each in menu] == known
    short = said(standin, "help questions")
    sent = standin.said(OWNER)[-1]
    assert buttons(sent) == ["More"]
    standin.press(OWNER, sent, "More", "q1")
    whole = wait_for(lambda: standin.of("editMessageText"))[-1]
    assert int(whole["message_id"]) == sent["sent_id"]
    assert whole["text"].startswith(short)
    assert len(whole["text"]) > len(short)
    rest = said(standin, "more")
    assert whole["text"].startswith(f"{short}\n{rest}")


def test_signs_of_markup_come_through_as_they_are(owned: Serving, standin: StandIn) -> None:
    """Nothing is read as markup on the way, in a reply, below a button or in a question."""
    said(standin, "new female F3 picta")
    odd = "shy <b>& *fast* _she_ [x](http://example.invalid) `1` \\ ~"
    assert odd in said(standin, f"note F3: {odd}")
    standin.press(OWNER, standin.said(OWNER)[-1], "Undo", "q1")
    edited = wait_for(lambda: standin.of("editMessageText"))[-1]
    assert odd in edited["text"]
    assert not any("parse_mode" in call for call in standin.calls)
