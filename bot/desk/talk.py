"""The state of a conversation to plain JSON and back, for the member's row in the book."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from bot.language.reading import NO_TALK, Act, Ask, Talk
from bot.records import record_from_json, record_to_json


def talk_to_json(talk: Talk) -> dict[str, Any]:
    """Plain values only; what is empty is left out."""
    plain: dict[str, Any] = {}
    if talk.question is not None:
        plain["question"] = _ask_to_json(talk.question)
    if talk.offer is not None:
        plain["offer"] = record_to_json(talk.offer)
    if talk.last:
        plain["last"] = [record_to_json(each) for each in talk.last]
    if talk.tasks:
        plain["tasks"] = list(talk.tasks)
    if talk.more:
        plain["more"] = [_ask_to_json(each) for each in talk.more]
    if talk.acts:
        plain["acts"] = [_act_to_json(each) for each in talk.acts]
    return plain


def talk_from_json(plain: Mapping[str, Any] | None) -> Talk:
    """The inverse of `talk_to_json`; nothing gives an empty talk."""
    if not plain:
        return NO_TALK
    question, offer = plain.get("question"), plain.get("offer")
    return Talk(
        question=_ask_from_json(question) if question else None,
        offer=record_from_json(offer) if offer else None,
        last=tuple(record_from_json(each) for each in plain.get("last", ())),
        tasks=tuple(plain.get("tasks", ())),
        more=tuple(_ask_from_json(each) for each in plain.get("more", ())),
        acts=tuple(_act_from_json(each) for each in plain.get("acts", ())),
    )


def _act_to_json(act: Act) -> dict[str, Any]:
    return {
        "key": act.key,
        "how": act.how,
        "at": act.at.isoformat(),
        "message": act.message,
        "snoozed": act.snoozed.isoformat() if act.snoozed else None,
    }


def _act_from_json(plain: Mapping[str, Any]) -> Act:
    snoozed = plain.get("snoozed")
    return Act(
        key=plain["key"],
        how=plain["how"],
        at=datetime.fromisoformat(plain["at"]),
        message=plain.get("message"),
        snoozed=datetime.fromisoformat(snoozed) if snoozed else None,
    )


def _ask_to_json(ask: Ask) -> dict[str, Any]:
    waiting = record_to_json(ask.waiting) if ask.waiting else None
    return {
        "about": ask.about,
        "choices": list(ask.choices),
        "waiting": waiting,
        "why": ask.why,
        "said": ask.said,
    }


def _ask_from_json(plain: Mapping[str, Any]) -> Ask:
    waiting = plain.get("waiting")
    return Ask(
        about=plain["about"],
        choices=tuple(plain.get("choices", ())),
        waiting=record_from_json(waiting) if waiting else None,
        why=plain.get("why", "missing"),
        said=plain.get("said", ""),
    )
