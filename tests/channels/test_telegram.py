"""Telegram without a network: what an update says, how answers are cut, what errors mean."""

from __future__ import annotations

from typing import Any

import httpx
import pytest
from telegram.error import BadRequest, Forbidden, NetworkError, RetryAfter, TimedOut

from bot.channels import telegram
from bot.channels.telegram import pieces
from bot.channels.updates import Moved, NoUpdate, Tapped, Written, read_update
from bot.messages import Choice, Reply
from bot.serve import sending
from bot.serve.buttons import LONG_LINES, LONG_TEXT, SHOWN_LINES, buttons, first_part

ME = "rack_bot"


def update(
    text: str | None = None, kind: str = "message", chat: str = "private", **more: Any
) -> Any:
    body = {
        "message_id": 7,
        "date": 1_773_000_000,
        "chat": {"id": 5, "type": chat},
        "from": {"id": 5, "is_bot": False, "first_name": "Ines"},
        **({"text": text} if text is not None else {}),
        **more,
    }
    return {"update_id": 11, kind: body}


def written(raw: Any) -> Written:
    found = read_update(raw, ME)
    assert isinstance(found, Written)
    return found


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("F3 laid 2", "F3 laid 2"),
        ("/today", "what's due today"),
        ("/due", "what's due today"),
        ("/due@rack_bot", "what's due today"),
        ("/start ABCD2345", "/start ABCD2345"),
        ("/start@rack_bot box_20B", "/start box_20B"),
        ("/start", "hello"),
        ("/undo", "undo"),
        ("/feeders now", "feeders now"),
    ],
)
def test_commands_stand_for_words(typed: str, words: str) -> None:
    """A command of the menu, or a link, is the same as saying it."""
    assert written(update(typed)).message.text == words


def test_a_message_counts_for_when_it_was_sent() -> None:
    """The moment is the message's own, and the name the sender's."""
    found = written(update("F3 laid 2"))
    assert found.message.at.timestamp() == 1_773_000_000
    assert (found.name, found.message.address, found.message.edits) == ("Ines", "5", None)


def test_an_edit_replaces_its_message() -> None:
    """An edit has an id of its own and names the start of the first one's."""
    first, edit = written(update("F3 laid 2")), written(update("F3 laid 3", "edited_message"))
    assert edit.message.edits is not None
    assert first.message.id.startswith(edit.message.edits)


def test_a_photo_with_words_is_a_message_with_its_picture() -> None:
    """The largest size is kept; without words it becomes a question."""
    sizes = [{"file_id": "small"}, {"file_id": "large"}]
    captioned = written(update(photo=sizes, caption="candled B4, veins"))
    assert (captioned.message.picture, captioned.only) == ("large", None)
    assert captioned.message.text == "candled B4, veins"
    assert written(update(photo=sizes)).only == "which_picture"
    assert written(update(sticker={"file_id": "s"})).only == "only_words"


@pytest.mark.parametrize(
    ("text", "more", "heard"),
    [
        ("good morning all", {}, False),
        ("@Rack_bot what's due today", {}, True),
        ("/due@rack_bot", {}, True),
        ("done", {"reply_to_message": {"from": {"is_bot": True}}}, True),
    ],
)
def test_in_a_group_it_listens_when_spoken_to(text: str, more: Any, heard: bool) -> None:
    """Only what names it, answers it or is a command counts in a group."""
    assert (read_update(update(text, chat="group", **more), ME) is not None) is heard


def test_in_a_group_it_is_the_sender_who_speaks_and_the_group_that_is_answered() -> None:
    """The address is the sender's own, the answer goes to the group, the name is a person's."""
    group = {"id": -70, "type": "group", "title": "Gecko room"}
    found = written({"update_id": 1, "message": update("/due")["message"] | {"chat": group}})
    assert (found.name, found.message.address) == ("Ines", "5")
    assert (found.message.chat, found.message.where) == ("-70", "-70")
    alone = written(update("/due")).message
    assert (alone.chat, alone.where) == (None, "5")


def test_a_reply_names_the_message_of_ours_that_it_answers() -> None:
    """Only where that is one of ours: a reply to a person's message is a message like any other."""
    ours = {"message_id": 88, "from": {"is_bot": True}}
    theirs = {"message_id": 89, "from": {"is_bot": False}}
    assert written(update("done", reply_to_message=ours)).answers == 88
    assert written(update("done", reply_to_message=theirs)).answers is None


def test_a_group_that_grows_has_another_number() -> None:
    """The old number and the new one are told."""
    moved = update(chat="group", migrate_to_chat_id=-1009)
    assert read_update(moved, ME) == Moved("5", "-1009")


def test_a_press_in_a_group_is_the_pressers_own() -> None:
    """Who pressed is told apart from where the button stands."""
    message = {"message_id": 3, "text": "x", "chat": {"id": -70, "type": "supergroup"}}
    query = {"id": "q", "from": {"id": 5}, "data": "9:0", "message": message}
    found = read_update({"update_id": 1, "callback_query": query}, ME)
    assert isinstance(found, Tapped)
    assert (found.address, found.chat, found.group) == ("5", "-70", True)


def test_a_long_answer_is_short_first_and_nothing_of_it_is_lost() -> None:
    """At the limit all is shown; one line more, and its beginning, parted between lines."""
    rows = [f"{n} Mar: F3 weighed" for n in range(LONG_LINES)]
    assert first_part("\n".join(rows)) == ("\n".join(rows), "")
    shown, rest = first_part("\n".join([*rows, "one more"]))
    assert shown.splitlines() + rest.splitlines() == [*rows, "one more"]
    assert len(shown.splitlines()) == SHOWN_LINES
    assert buttons(Reply("\n".join([*rows, "one more"])))[-1].label == "More"


def test_a_line_that_is_long_by_itself_is_parted_between_sentences() -> None:
    """No word is cut, and both parts together say all of it."""
    text = "The egg is dented. Leave it be. " * (LONG_TEXT // 20)
    shown, rest = first_part(text.strip())
    assert shown.endswith(".")
    assert f"{shown} {rest}" == text.strip()


@pytest.mark.parametrize(
    "raw",
    [
        None, 5, [], {}, {"update_id": "1"}, {"update_id": True}, {"update_id": 1, "message": None},
        {"update_id": 1, "message": {"chat": 5}}, update(text=["x"]),  # type: ignore[arg-type]
        update("x", date=10**30), update("x", chat_=1) | {"message": {"chat": {"id": "x"}}},
        {"update_id": 1, "callback_query": {"id": 1, "from": 5}},
    ],
)  # fmt: skip
def test_what_is_no_update_is_said_to_be_none(raw: Any) -> None:
    """A body of another form raises NoUpdate and nothing else."""
    with pytest.raises(NoUpdate):
        read_update(raw, ME)


@pytest.mark.parametrize("data", ["", "x", "9:", ":1", "9:9999999", "1" * 30 + ":1", "9:-1"])
def test_button_data_of_somebody_elses_making_names_no_row(data: str) -> None:
    """Data that we did not write points at row 0, which no reply has."""
    query = {"id": "q", "from": {"id": 5}, "data": data}
    found = read_update({"update_id": 1, "callback_query": query}, ME)
    assert isinstance(found, Tapped)
    assert found.row == 0


def test_long_text_is_cut_between_lines_and_nothing_is_lost() -> None:
    """No piece is over the limit, counted in UTF-16 units, and every line survives whole."""
    lines = [f"line {number} 🦎 of the box" for number in range(400)]
    cut = list(pieces("\n".join(lines), 1000))
    assert all(len(each.encode("utf-16-le")) // 2 <= 1000 for each in cut)
    assert "\n".join(cut).split("\n") == lines


def test_buttons_are_added_where_they_belong_once() -> None:
    """A reply that wrote has Undo, a reminder Done and Snooze, each once."""
    undo = Choice("Undo", "undo")
    assert [b.says for b in buttons(Reply("x", wrote=True))] == ["undo"]
    assert [b.says for b in buttons(Reply("x", (undo,), wrote=True))] == ["undo"]
    assert [b.label for b in buttons(Reply("x", reminder="k"))] == ["Done", "Snooze"]
    assert buttons(Reply("x")) == ()


def test_button_data_fits() -> None:
    """Callback data stays within 64 bytes for any row, and labels are never empty."""
    markup = telegram.keyboard(2**62, tuple(Choice("F" * 90, "x" * 200) for _ in range(30)))
    assert markup is not None
    assert all(len(str(b.callback_data)) <= 64 for row in markup.inline_keyboard for b in row)


def _caused(error: NetworkError, cause: Exception) -> NetworkError:
    error.__cause__ = cause
    return error


@pytest.mark.parametrize(
    ("error", "means"),
    [
        (RetryAfter(7), sending.RetryAfter(7)),
        (Forbidden("blocked"), sending.Shut()),
        (BadRequest("no"), sending.Refused("bad request")),
        (telegram.Fault("status 502"), sending.Unreachable()),
        (_caused(NetworkError("x"), httpx.ConnectError("no")), sending.Unreachable()),
        (_caused(NetworkError("x"), httpx.ReadError("reset")), sending.Lost()),
        (_caused(TimedOut(), httpx.ReadTimeout("late")), sending.Lost()),
    ],
)
def test_what_an_error_means_for_the_outbox(error: Exception, means: sending.Sent) -> None:
    """A connection that was never made is told apart from an answer that was lost."""
    assert telegram.outcome(error) == means  # type: ignore[arg-type]
