"""The settings: command line, environment, `.env` and `rackside.toml`, validated once."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

PREFIX = "RACKSIDE_"
APP = "rackside"
DATABASES = ("sqlite", "postgresql", "postgresql+psycopg")
LEVELS = ("debug", "info", "warning", "error")
SMS_SET = ("SMS_ACCOUNT", "SMS_SECRET", "SMS_NUMBER")


class SettingsError(Exception):
    """One or more settings are wrong or missing; `lines` has one for each, ready to print."""

    def __init__(self, lines: list[str]) -> None:
        self.lines = tuple(lines)
        super().__init__("\n".join(lines))


@dataclass(frozen=True)
class Settings:
    """What Rackside was told. An address without a trailing slash; None is off.

    `book` is a path or a database URL; `backups` the folder of the daily copies;
    `owner_code` None means that `serve` makes one.
    """

    book: str
    zone: ZoneInfo
    listen: tuple[str, int]
    url: str
    telegram_token: str | None
    telegram_api: str
    telegram_webhook: str | None
    sms_account: str | None
    sms_secret: str | None
    sms_number: str | None
    sms_api: str
    owner_code: str | None
    open: bool
    sms_monthly: int
    backups: Path | None
    log: str


def data_folder() -> Path:
    """Where the platform keeps a user's data of ours; it need not exist yet."""
    import platformdirs

    return Path(platformdirs.user_data_dir(APP, appauthor=False))


def config_folder() -> Path:
    """Where the platform keeps a user's settings of ours; it need not exist."""
    import platformdirs

    return Path(platformdirs.user_config_dir(APP, appauthor=False))


def load(
    given: Mapping[str, str | None] | None = None,
    environ: Mapping[str, str] | None = None,
    folders: tuple[Path, ...] | None = None,
) -> Settings:
    """The settings in force. `given` is what the command line says, by name ("BOOK").

    Of `folders` (the working directory, the user's configuration folder) the first that has a
    `.env` or a `rackside.toml` gives it. Raises SettingsError with a line for every mistake.
    """
    wrong: list[str] = []
    folders = (Path.cwd(), config_folder()) if folders is None else folders
    sources = (
        {name: value for name, value in (given or {}).items() if value},
        _ours(os.environ if environ is None else environ),
        _ours(_dotenv(folders, wrong)),
        _toml(folders, wrong),
    )
    for source in sources:
        wrong += [_unknown(name) for name in source if name not in TABLE]
    values = {name: next((s[name] for s in sources if s.get(name)), "") for name in TABLE}
    read = {name: _read(name, values[name], wrong) for name in TABLE}
    wrong += _half_set(values)
    if wrong:
        raise SettingsError(wrong)
    return _filled(read)


def _ours(source: Mapping[str, str | None]) -> dict[str, str]:
    return {
        name.removeprefix(PREFIX): value.strip()
        for name, value in source.items()
        if name.startswith(PREFIX) and value and value.strip()
    }


def _first(folders: tuple[Path, ...], name: str) -> Path | None:
    return next((each / name for each in folders if (each / name).is_file()), None)


def _dotenv(folders: tuple[Path, ...], wrong: list[str]) -> Mapping[str, str | None]:
    file = _first(folders, ".env")
    if file is None:
        return {}
    from dotenv import dotenv_values

    try:
        return dotenv_values(file, interpolate=False, encoding="utf-8")
    except UnicodeDecodeError:
        wrong.append(".env: not UTF-8 text")
        return {}


def _toml(folders: tuple[Path, ...], wrong: list[str]) -> dict[str, str]:
    file = _first(folders, "rackside.toml")
    if file is None:
        return {}
    try:
        table = tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        wrong.append(f"rackside.toml: not a TOML file ({error})")
        return {}
    return {name.upper(): said for name, value in table.items() if (said := _as_text(value))}


def _as_text(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value).strip()


def _unknown(name: str) -> str:
    near = get_close_matches(name, TABLE, n=1)
    hint = f"; did you mean {PREFIX}{near[0]}?" if near else ""
    return f"{PREFIX}{name}: there is no such setting{hint}"


def _read(name: str, value: str, wrong: list[str]) -> Any:
    row = TABLE[name]
    if not value:
        return row.default
    try:
        return row.read(value)
    except ValueError as error:
        wrong.append(f"{PREFIX}{name}: {error}")
        return None


def _half_set(values: Mapping[str, str]) -> list[str]:
    missing = [name for name in SMS_SET if not values[name]]
    if not missing or len(missing) == len(SMS_SET):
        return []
    names = ", ".join(PREFIX + name for name in SMS_SET)
    return [f"{PREFIX}{name}: missing; set all of {names}, or none" for name in missing]


def _filled(read: dict[str, Any]) -> Settings:
    """Work out the defaults that lean on the machine or on another setting."""
    host, port = read["LISTEN"]
    shown = f"[{host}]" if ":" in host else host
    book = read["BOOK"] or str(data_folder() / "book.sqlite")
    read |= {
        "BOOK": book,
        "ZONE": read["ZONE"] or machine_zone(),
        "URL": read["URL"] or f"http://{shown}:{port}",
        "BACKUPS": {"": beside(book) / "backups", "off": None}.get(
            read["BACKUPS"], read["BACKUPS"]
        ),
    }
    if read["BACKUPS"] is not None:
        read["BACKUPS"] = Path(read["BACKUPS"]).expanduser()
    return Settings(**{name.lower(): value for name, value in read.items()})


def beside(book: str) -> Path:
    """Where a book's own things lie: its folder; for a database the user's data folder."""
    return data_folder() if "://" in book else Path(book).parent


def machine_zone() -> ZoneInfo:
    """The machine's time zone; UTC where it does not tell."""
    import tzlocal

    try:
        return zone(tzlocal.get_localzone_name() or "UTC")
    except (ValueError, LookupError, OSError):
        return ZoneInfo("UTC")


def zone(value: str) -> ZoneInfo:
    """The time zone of that IANA name. Raises ValueError with a sentence."""
    try:
        return ZoneInfo(value)
    except (ValueError, LookupError, OSError):
        raise ValueError(f'no time zone "{value}"') from None


def _book(value: str) -> str:
    scheme, mark, _ = value.partition("://")
    if not mark:
        return str(Path(value).expanduser()) if value != ":memory:" else value
    if scheme not in DATABASES:
        raise ValueError(f'"{scheme}" is no database of ours; use a path, sqlite or postgresql')
    return value


def _listen(value: str) -> tuple[str, int]:
    host, mark, port = value.rpartition(":")
    if not mark or not host or not port.isdecimal() or not 0 < int(port) < 65536:
        raise ValueError(f'"{value}" is not host:port, such as 127.0.0.1:8787')
    return host.strip("[]"), int(port)


def _address(value: str) -> str:
    try:
        parts = urlsplit(value)
        good = parts.scheme in ("http", "https") and bool(parts.hostname) and parts.port != 0
    except ValueError:
        good = False
    if not good:
        raise ValueError(f'"{value}" is not an address that starts with http:// or https://')
    return value.rstrip("/")


def _matching(pattern: str, otherwise: str) -> Callable[[str], str]:
    def read(value: str) -> str:
        if not re.fullmatch(pattern, value):
            raise ValueError(otherwise)
        return value

    return read


def _yes_no(value: str) -> bool:
    if value.lower() not in ("yes", "no"):
        raise ValueError(f'"{value}" is neither yes nor no')
    return value.lower() == "yes"


def _count(value: str) -> int:
    if not (value.isascii() and value.isdecimal()):
        raise ValueError(f'"{value}" is not a whole number')
    return int(value)


def _level(value: str) -> str:
    if value.lower() not in LEVELS:
        raise ValueError(f'"{value}" is none of {", ".join(LEVELS)}')
    return value.lower()


class Row(NamedTuple):
    """One setting: how its text is read (ValueError says what is wrong), and its default."""

    read: Callable[[str], Any]
    default: Any
    meaning: str


_NUMBER = "not a phone number in international form, such as +351900000000"

TABLE: Mapping[str, Row] = {
    "BOOK": Row(_book, "", "the book: a path or a database URL"),
    "ZONE": Row(zone, None, "the household's time zone"),
    "LISTEN": Row(_listen, ("127.0.0.1", 8787), "where serve listens"),
    "URL": Row(_address, "", "how the world reaches it"),
    "TELEGRAM_TOKEN": Row(
        _matching(r"\d+:[\w-]+", "not a bot token (digits, a colon, letters)"), None, "the bot"
    ),
    "TELEGRAM_API": Row(_address, "https://api.telegram.org", "Telegram's base address"),
    "TELEGRAM_WEBHOOK": Row(_address, None, "base address to have updates sent to"),
    "SMS_ACCOUNT": Row(_matching(r"\w+", "not an account SID"), None, "the account"),
    "SMS_SECRET": Row(_matching(r"\S+", "not an auth token"), None, "the auth token"),
    "SMS_NUMBER": Row(_matching(r"\+[1-9]\d{6,14}", _NUMBER), None, "our own number"),
    "SMS_API": Row(_address, "https://api.twilio.com", "the SMS gateway's base address"),
    "OWNER_CODE": Row(_matching(r".{8,}", "needs at least 8 characters"), None, "the owner's code"),
    "OPEN": Row(_yes_no, False, "may a stranger begin a household"),
    "SMS_MONTHLY": Row(_count, 300, "messages sent in a month"),
    "BACKUPS": Row(str, "", "folder of the daily copies"),
    "LOG": Row(_level, "info", "how much is logged"),
}
