"""What every answer is worked out from: the book's pages, who asks, when, and the talk so far."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from bot.language.reading import Talk
from bot.messages import Message, Outgoing

if TYPE_CHECKING:
    from bot.book.households import Member
    from bot.book.pages import Pages
    from scheduler.colony import Colony


@dataclass
class Context:
    """One message at the desk. `now` is aware; `talk` is replaced as the conversation moves.

    `export_folder` is where tables are written (None: nowhere to put them); `chance` makes
    invitation codes; `bot` is our name on Telegram and `url` our
    own address, for links ("": not known). `others` is what
    the answer puts in the outbox for other members.
    """

    pages: Pages
    member: Member
    message: Message
    message_id: int | None
    talk: Talk
    now: datetime
    export_folder: Path | None = None
    chance: random.Random = field(default_factory=random.SystemRandom)
    bot: str = ""
    url: str = ""
    others: list[Outgoing] = field(default_factory=list)

    @property
    def zone(self) -> ZoneInfo:
        """The household's zone: its dates are the ones the book is kept in."""
        return ZoneInfo(self.pages.household.zone)

    @property
    def today(self) -> date:
        """The household's local date now."""
        return self.now.astimezone(self.zone).date()

    @property
    def colony(self) -> Colony:
        """The facts that thinking rests on, as they are after what was written so far."""
        return self.pages.colony()
