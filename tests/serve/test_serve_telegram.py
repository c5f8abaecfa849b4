"""`rackside serve` as a process, on the phone: who may, each message once, and faults."""

from __future__ import annotations

import signal
import sqlite3
import time

import pytest

from tests.serve.conftest import CODE, OWNER, STRANGER, Serving, wait_for
from tests.serve.standin import StandIn, error, status, too_many

pytestmark = pytest.mark.slow


def texts(standin: StandIn, who: int = OWNER) -> list[str]:
    return [call["text"] for call in standin.said(who)]


def entries(serving: Serving, kind: str) -> int:
    with sqlite3.connect(serving.book) as book:
        return book.execute("SELECT count(*) FROM ledger WHERE kind = ?", (kind,)).fetchone()[0]


def test_the_owner_code_works_once_and_strangers_are_told_once(
    serving: Serving, standin: StandIn
) -> None:
    """The first with the code owns the book; others hear one line, and only once."""
    serving.start()
    standin.write(STRANGER, "hello there")
    standin.write(OWNER, CODE)
    wait_for(lambda: texts(standin))
    standin.write(STRANGER, CODE)
    standin.write(OWNER, "new female F3 leopard")
    wait_for(lambda: len(texts(standin)) == 2)
    assert "your book" in texts(standin)[0]
    assert len(texts(standin, STRANGER)) == 1
    assert "private" in texts(standin, STRANGER)[0]
    assert entries(serving, "animal") == 1


def test_a_record_has_undo_and_a_press_takes_it_back_once(owned: Serving, standin: StandIn) -> None:
    """Undo is a button; pressing it twice takes back once, and both presses are answered."""
    standin.write(OWNER, "new female F3 leopard")
    standin.write(OWNER, "F3 21.4g")
    wait_for(lambda: len(standin.said(OWNER)) == 3)
    sent = standin.said(OWNER)[-1]
    standin.press(OWNER, sent, "Undo", "q1")
    standin.press(OWNER, sent, "Undo", "q2")
    wait_for(lambda: len(standin.of("answerCallbackQuery")) == 2)
    wait_for(lambda: standin.of("editMessageText"))
    assert entries(owned, "undo") == 1


def test_what_was_not_answered_before_a_kill_is_handled_after_it(
    owned: Serving, standin: StandIn
) -> None:
    """Twenty messages, killed in the middle: each is in the book once, though it comes twice."""
    standin.write(OWNER, "new female F3 leopard")
    for grams in range(40, 60):
        standin.write(OWNER, f"F3 {grams}g")
    wait_for(lambda: len(standin.said(OWNER)) >= 6)
    owned.kill()
    owned.start()
    wait_for(lambda: {f"{g}" for g in range(40, 60)} <= said_grams(standin), 20)
    assert entries(owned, "weighed") == 20
    copies = [texts(standin).count(each) for each in texts(standin)]
    assert max(copies) <= 2


def said_grams(standin: StandIn) -> set[str]:
    return {
        word.rstrip(".g") for text in texts(standin) for word in text.split() if word[:1].isdigit()
    }


def test_too_many_waits_as_asked_and_holds_up_nobody_else(owned: Serving, standin: StandIn) -> None:
    """429 with retry_after: nothing to that chat before then, and the others go on."""
    standin.faults.append((f"sendMessage:{OWNER}", too_many(2)))
    standin.write(OWNER, "new female F3 leopard")
    wait_for(lambda: [c for c in standin.of("sendMessage") if not c["taken"]])
    asked = next(c["at"] for c in standin.of("sendMessage") if not c["taken"])
    standin.write(STRANGER, "hello there")
    wait_for(lambda: texts(standin, STRANGER), 2)
    wait_for(lambda: len(standin.said(OWNER)) == 2)
    later = [c["at"] for c in standin.of("sendMessage") if c["at"] > asked]
    to_owner = [c["at"] for c in standin.said(OWNER) if c["at"] > asked]
    assert to_owner[0] - asked >= 2.0
    assert len(later) == 2


def test_a_fault_of_theirs_is_tried_again_and_a_lost_answer_once_more(
    owned: Serving, standin: StandIn
) -> None:
    """A 502 in HTML is tried again within 5 s; an answer lost makes two copies at most."""
    standin.faults.append(("sendMessage", status(502)))
    standin.write(OWNER, "new female F3 leopard")
    wait_for(lambda: len(standin.said(OWNER)) == 2, 6)
    standin.faults += [("sendMessage", "lost"), ("sendMessage", "lost")]
    standin.write(OWNER, "F3 21g")
    wait_for(lambda: len(standin.said(OWNER)) == 4, 8)
    standin.write(OWNER, "F3 22g")
    wait_for(lambda: "22" in texts(standin)[-1], 8)
    assert sum("21 g" in each for each in texts(standin)) == 2


def test_a_bad_request_is_tried_once_as_plain_text(owned: Serving, standin: StandIn) -> None:
    """400: once more without buttons, then on with the next; no loop."""
    standin.faults += [("sendMessage", error(400, "Bad Request: no"))] * 2
    standin.write(OWNER, "new female F3 leopard")
    wait_for(lambda: len([c for c in standin.of("sendMessage") if not c["taken"]]) == 2)
    standin.write(OWNER, "F3 21g")
    wait_for(lambda: len(standin.said(OWNER)) == 2)
    refused = [c for c in standin.of("sendMessage") if not c["taken"]]
    assert len(refused) == 2
    assert "reply_markup" not in refused[1]


def test_blocked_means_silence_until_they_write_again(owned: Serving, standin: StandIn) -> None:
    """403: nothing more is sent there until that person writes; what waited then goes out."""
    standin.faults.append(("sendMessage", error(403, "Forbidden: bot was blocked by the user")))
    standin.write(OWNER, "new female F3 leopard")
    wait_for(lambda: [c for c in standin.of("sendMessage") if not c["taken"]])
    time.sleep(1.2)  # under test, a second try would come within half a second
    assert len(standin.of("sendMessage")) == 2
    standin.write(OWNER, "F3 21g")
    wait_for(lambda: len(standin.said(OWNER)) == 3)


def test_a_signal_ends_it_with_0_and_the_log_tells_nothing(
    serving: Serving, standin: StandIn
) -> None:
    """Logs are JSON with no words, names or ids from info on, and no secret even at debug."""
    serving.settings["LOG"] = "debug"
    serving.start()
    standin.write(OWNER, CODE)
    standin.faults.append(("sendMessage", status(502)))
    standin.write(OWNER, "new female F3 leopard called Clementine")
    wait_for(lambda: len(standin.said(OWNER)) == 2)
    begun = time.monotonic()
    assert serving.stop(signal.SIGTERM) == 0
    assert time.monotonic() - begun < 10
    assert all({"time", "level", "event"} <= line.keys() for line in serving.logged())
    assert "standin-token" not in serving.errors()
    told = [line for line in serving.logged() if line["level"] != "debug"]
    assert len(told) >= 4
    for secret in (str(OWNER), CODE, "Clementine", "Ines", "F3"):
        assert secret not in str(told)


def test_a_photo_with_words_comes_back_with_its_animal(owned: Serving, standin: StandIn) -> None:
    """The picture of a captioned photo is shown when that animal is asked about."""
    standin.emulator.assets["photo-id"] = {"data": b"x"}
    standin.write(OWNER, "new female F3 leopard")
    photo = {"photo": [{"file_id": "small"}, {"file_id": "photo-id"}], "caption": "F3 21.5g"}
    standin.write(OWNER, "", **photo)
    standin.write(OWNER, "tell me about F3")
    shown = wait_for(lambda: standin.of("sendPhoto"))
    assert shown[0]["photo"] == "photo-id"
    assert entries(owned, "weighed") == 1


def test_a_question_has_its_choices_as_buttons(owned: Serving, standin: StandIn) -> None:
    """A tap on a choice answers the question; a tap on it later changes nothing."""
    standin.write(OWNER, "new female F3 leopard")
    standin.write(OWNER, "F9 21.5g")
    asked = wait_for(lambda: standin.said(OWNER)[2:])[0]
    standin.press(OWNER, asked, "F3", "q1")
    wait_for(lambda: entries(owned, "weighed"))
    standin.press(OWNER, asked, "F3", "q2")
    wait_for(lambda: len(standin.of("answerCallbackQuery")) == 2)
    assert entries(owned, "weighed") == 1


def test_a_refused_token_and_a_held_book_have_their_statuses(
    serving: Serving, standin: StandIn
) -> None:
    """A token refused is 3, a book that another serve holds is 4, each with a line on stderr."""
    standin.refused_token = True
    serving.start(ready=False)
    assert serving.process is not None and serving.process.wait(10) == 3
    assert "rackside: RACKSIDE_TELEGRAM_TOKEN" in serving.errors()
    standin.refused_token = False
    serving.start()
    second = Serving(serving.folder, standin)
    second.start(ready=False)
    assert second.process is not None and second.process.wait(10) == 4


def test_a_sticker_and_a_bare_photo_get_a_polite_answer(owned: Serving, standin: StandIn) -> None:
    """What has no words is answered, and writes nothing."""
    bare = {"message_id": 90, "date": int(time.time()), "chat": {"id": OWNER, "type": "private"},
            "from": {"id": OWNER, "is_bot": False, "first_name": "Ines"}}  # fmt: skip
    standin.put({"message": bare | {"sticker": {"file_id": "s"}}})
    standin.put({"message": bare | {"message_id": 91, "photo": [{"file_id": "p"}]}})
    wait_for(lambda: len(standin.said(OWNER)) == 3)
    assert "words" in texts(standin)[1]
    assert texts(standin)[2].count("?") == 1


def test_a_helper_joins_by_a_code_that_is_good_once(owned: Serving, standin: StandIn) -> None:
    """A shared code lets one more in, in that role; what the helper logs carries their name."""
    standin.write(OWNER, "share helper")
    shared = wait_for(lambda: texts(standin)[1:])[0].split()[-1]
    standin.write(STRANGER, shared)
    wait_for(lambda: texts(standin, STRANGER))
    standin.write(STRANGER, "new female F3 leopard")
    wait_for(lambda: len(texts(standin, STRANGER)) == 2)
    standin.write(STRANGER + 1, shared)
    wait_for(lambda: texts(standin, STRANGER + 1))
    assert "helper" in texts(standin, STRANGER)[0]
    assert "private" in texts(standin, STRANGER + 1)[0]
    with sqlite3.connect(owned.book) as book:
        kept = book.execute(
            "SELECT count(*) FROM messages WHERE text LIKE '%' || ? || '%'", [shared]
        )
        assert kept.fetchone() == (0,)


def test_out_of_reach_at_the_start_is_no_reason_to_end(serving: Serving, standin: StandIn) -> None:
    """Telegram answers 5xx to everything at first; it is asked again, and served then."""
    for method in ("getMe", "getMe", "deleteWebhook", "setMyCommands", "getUpdates"):
        standin.faults.append((method, status(503)))
    serving.start()
    standin.write(OWNER, CODE)
    wait_for(lambda: texts(standin))
    assert serving.stop() == 0
