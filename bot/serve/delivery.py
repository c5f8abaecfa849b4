"""The outbox on its way: each address in order, with retries, one slow receiver holding up nobody."""

from __future__ import annotations

from bot.serve.sending import Delivered, Lost, Refused, RetryAfter, Sender, Sent, Shut, Unreachable

__all__ = ["Delivered", "Lost", "Refused", "RetryAfter", "Sender", "Sent", "Shut", "Unreachable"]
