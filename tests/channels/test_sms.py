"""SMS coming in: who may, each message once, and the words the channel answers itself."""

from __future__ import annotations

from functools import cache
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy.exc import OperationalError

from bot.book import households
from bot.channels.segments import length
from bot.channels.sms_words import first_page, whole
from bot.messages import Choice, Reply
from bot.wording import say
from tests.channels.sms_support import (
    MINA,
    STRANGER,
    Desk,
    desk,
    form,
    hand_over,
    kept,
    send_all,
    sign,
    text,
    to_send,
)


def test_a_signed_message_is_handled() -> None:
    """A message signed for our address is handled, and its reply waits in the outbox."""
    book, _ = desk()
    assert text(book, "F3 laid 2, box B slot 4") == (204, "")
    assert [each.text for each in book.handled] == ["F3 laid 2, box B slot 4"]
    assert book.handled[0].address == MINA
    assert to_send(book.book) == ["Written."]


@pytest.mark.parametrize("body", ["F3 laid 2", "STOP", "HELP"])
def test_a_wrong_signature_stores_nothing(body: str) -> None:
    """Signed with another secret, for another address, or not at all: 403, and nothing is kept."""
    book, _ = desk()
    fields = form(body)
    wrong = [sign(fields, secret="other"), sign(fields, url="https://else.example/sms"), "", "é"]
    for signature in wrong:
        assert hand_over(book, fields, signature) == (403, "")
    assert kept(book.book) == to_send(book.book) == []


def test_a_changed_word_breaks_the_signature() -> None:
    """A message changed on its way is refused."""
    book, _ = desk()
    fields = form("F3 laid 2")
    assert hand_over(book, fields | {"Body": "F3 laid 3"}, sign(fields))[0] == 403


def test_another_account_is_refused() -> None:
    """A request well signed but for another account is refused."""
    book, _ = desk()
    fields = form("F3 laid 2") | {"AccountSid": "AC0002"}
    assert hand_over(book, fields, sign(fields))[0] == 403
    assert kept(book.book) == []


def test_half_a_character_is_refused() -> None:
    """A form that cannot be written in UTF-8 is refused, not an error."""
    book, _ = desk()
    assert hand_over(book, form("\ud83e"), "x")[0] == 403


@pytest.mark.parametrize("word", ["STOP", "HELP", "START", "MORE"])
def test_the_same_message_again_changes_nothing(word: str) -> None:
    """A message delivered again is neither kept nor answered again."""
    book, _ = desk()
    fields = form(word)
    hand_over(book, fields, sign(fields))
    before = to_send(book.book)
    assert hand_over(book, fields, sign(fields)) == (204, "")
    assert kept(book.book) == [word]
    assert to_send(book.book) == before


def test_an_old_message_again_does_not_undo_stop() -> None:
    """After STOP, a message from before delivered again brings nothing back."""
    book, mina = desk()
    fields = form("F3 laid 2")
    hand_over(book, fields, sign(fields))
    text(book, "stop")
    hand_over(book, fields, sign(fields))
    assert routes(book, mina) == []


@pytest.mark.parametrize(
    "wrong",
    [{"From": "SHOP"}, {"From": "12345"}, {"MessageSid": ""}, {"MessageSid": "S" * 81}],
)
def test_what_is_no_message_is_refused(wrong: dict[str, str]) -> None:
    """Without an id, or from what is no number, nothing is kept."""
    book, _ = desk()
    fields = form("F3 laid 2") | wrong
    assert hand_over(book, fields, sign(fields))[0] == 400
    assert kept(book.book) == []


def test_a_number_has_one_form() -> None:
    """A number written with spaces is the same person."""
    book, _ = desk()
    text(book, "what's due", frm="+351 900 000 001")
    assert book.handled[0].address == MINA


def test_stop_and_start() -> None:
    """STOP shuts the number at once, with one goodbye; START opens it again."""
    book, mina = desk()
    status, body = text(book, "Stop.")
    assert status == 200
    assert ElementTree.fromstring(body).findtext("Message") == say("sms.stopped")
    assert routes(book, mina) == []
    assert text(book, "START")[0] == 204
    assert routes(book, mina) == [MINA]
    assert to_send(book.book) == [say("sms.started")]
    assert book.handled == []


def test_writing_again_opens_the_number() -> None:
    """Whoever writes after STOP is answered again."""
    book, mina = desk()
    text(book, "STOP")
    text(book, "F3 laid 2")
    assert routes(book, mina) == [MINA]


def test_the_gateway_answered_stop_itself() -> None:
    """Where the gateway handles opting out, its word is not answered twice."""
    book, mina = desk()
    assert text(book, "quit", OptOutType="STOP") == (204, "")
    assert routes(book, mina) == []
    text(book, "HELP", OptOutType="HELP")
    assert to_send(book.book) == []


def test_stop_inside_a_sentence_is_no_stop() -> None:
    """Only the word alone ends texts."""
    book, mina = desk()
    text(book, "stop the heat in incubator 1")
    assert routes(book, mina) == [MINA]
    assert len(book.handled) == 1


def test_help() -> None:
    """HELP says what this is and how to end it, in at most two parts."""
    book, _ = desk()
    text(book, "help")
    (said,) = to_send(book.book)
    assert "STOP" in said
    assert length(said).parts <= 2
    assert length(said).gsm


def test_more_gives_the_rest() -> None:
    """MORE gives the rest of a long reply page by page, then nothing is left of it."""
    lines = [f"B{n}: F3, laid 3 Mar, hatches 9 to 19 May" for n in range(1, 21)]
    book, _ = desk("\n".join(lines))
    text(book, "what's in box B")
    shown = []
    for _turn in range(6):
        page, rest = first_page(Reply(to_send(book.book)[-1]))
        shown += [line for line in page.split("\n") if line != say("sms.more")]
        send_all(book.book)
        if not rest:
            break
        text(book, "more")
    assert shown == lines
    assert len(book.handled) == 1
    text(book, "MORE")
    assert [each.text for each in book.handled][1:] == ["MORE"]


def test_a_reminder_in_between_does_not_lose_the_rest() -> None:
    """MORE still means the long reply where a short text was sent after it."""
    book, _ = desk("Box B is full. " * 40)
    text(book, "what's in box B")
    book.says = Reply("Search F3 for eggs.")
    text(book, "next")
    send_all(book.book)
    text(book, "MORE")
    assert to_send(book.book)[-1].startswith("Box B is full.")


def test_a_voice_message_gets_a_polite_answer() -> None:
    """What has no words and is no photo is answered, and nothing is handled."""
    book, _ = desk()
    text(book, "", NumMedia="1", MediaUrl0="https://m.example/1", MediaContentType0="audio/amr")
    assert to_send(book.book) == [say("sms.words_only")]
    assert book.handled == []


def test_a_photo_goes_to_the_desk() -> None:
    """A photo comes with its message."""
    book, _ = desk()
    text(book, "B4", NumMedia="1", MediaUrl0="https://m.example/1", MediaContentType0="image/jpeg")
    assert book.handled[0].picture == "https://m.example/1"


def test_a_stranger_gets_twiml_and_nothing_is_kept() -> None:
    """A stranger's answer goes back at once; the outbox and the messages stay empty."""
    book, _ = desk()
    status, body = text(book, "hello", frm=STRANGER)
    assert status == 200
    assert ElementTree.fromstring(body).findtext("Message") == "This is a private book."
    assert kept(book.book) == to_send(book.book) == []


def test_choices_are_words() -> None:
    """What may be answered is said in words, unless the text numbers it already."""
    undo = (Choice("Undo", "undo"),)
    assert whole(Reply("F3 laid 2.", undo, wrote=True)).endswith(say("sms.undo"))
    taps = (Choice("Done", "done"), Choice("Snooze", "snooze 1h"))
    told = Reply("Pull M2.", taps, reminder="pull M2")
    assert whole(told) == "Pull M2.\nReply 1 done or 2 snooze 1h."
    assert whole(Reply("Pull M2.", (Choice("Out", "pulled M2"), *taps), reminder="x")).endswith(
        "Reply 1 done or 2 snooze 1h, or what happened: pulled M2."
    )
    offered = Reply('Done. To have it in the book, say "pulled M2".', (Choice("Out", "pulled M2"),))
    assert whole(offered) == offered.text
    asked = Reply("Which female laid?\n1 F3, 2 F7", (Choice("F3", "F3"), Choice("F7", "F7")))
    assert whole(asked) == asked.text


def test_columns_are_not_paid_for() -> None:
    """Spaces that line up columns elsewhere, and bars, are left out."""
    assert whole(Reply("Weight of F3\n 3 Mar  21.4 g ▇▇▇\n14 Mar  22 g   ▇▇▇▇")).split("\n") == [
        "Weight of F3", "3 Mar 21.4 g", "14 Mar 22 g",
    ]  # fmt: skip


def test_a_photo_without_words_gets_a_question() -> None:
    """Of a photo alone it is asked what it shows."""
    book, _ = desk()
    text(book, " ", NumMedia="1", MediaUrl0="https://m.example/1", MediaContentType0="image/jpeg")
    (asked,) = to_send(book.book)
    assert "?" in asked
    assert book.handled == []


def test_a_fault_of_ours_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the desk fails, the keeper hears that nothing was written, once."""
    book, _ = desk()

    def fail(message: object, name: str) -> list[object]:
        raise ZeroDivisionError

    monkeypatch.setattr(book, "handle", fail)
    fields = form("F3 laid 2")
    assert hand_over(book, fields, sign(fields)) == (204, "")
    assert hand_over(book, fields, sign(fields)) == (204, "")
    (said,) = to_send(book.book)
    assert "nothing was written" in said


def test_a_book_that_cannot_be_written_is_said_to_the_gateway(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Where the book is locked the gateway hears 503, and may bring the message again."""
    book, _ = desk()

    def locked(message: object, name: str) -> list[object]:
        raise OperationalError("", None, Exception())

    with monkeypatch.context() as patch:
        patch.setattr(book, "handle", locked)
        fields = form("F3 laid 2")
        assert hand_over(book, fields, sign(fields))[0] == 503
    assert hand_over(book, fields, sign(fields))[0] == 204
    assert to_send(book.book) == ["Written."]


@settings(max_examples=150, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(
            ["MessageSid", "From", "To", "Body", "NumMedia", "MediaUrl0", "MediaContentType0",
             "OptOutType", "MessageStatus", "ErrorCode", "Other"]
        ),
        st.text(st.characters(exclude_categories=["Cs"]))
        | st.sampled_from([MINA, "STOP", "21610"]),
    )
)  # fmt: skip
def test_no_form_breaks_it(fields: dict[str, str]) -> None:
    """Whatever a signed form holds, the answer is 2xx or 400, and nothing raises."""
    book, _ = desk_kept()
    signed = {"AccountSid": "AC0001"} | fields
    assert hand_over(book, signed, sign(signed))[0] in (200, 204, 400)
    assert hand_over(book, signed, "")[0] == 403


@cache
def desk_kept() -> tuple[Desk, households.Member]:
    """One book for all the forms."""
    return desk()


def routes(book: object, mina: households.Member) -> list[str]:
    """Where something can be sent to."""
    with book.book.reading() as conn:  # type: ignore[attr-defined]
        return [where for _, _, where in households.routes(conn, mina.household)]
