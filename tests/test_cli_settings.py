"""Settings: four places, one order, and a line for every mistake."""

from __future__ import annotations

from pathlib import Path

import pytest

from bot.settings import TABLE, Settings, SettingsError, load


def loaded(folder: Path, given: dict[str, str | None] | None = None, **environ: str) -> Settings:
    return load(given, {f"RACKSIDE_{k}": v for k, v in environ.items()}, (folder,))


def mistakes(folder: Path, **environ: str) -> tuple[str, ...]:
    with pytest.raises(SettingsError) as caught:
        loaded(folder, None, **environ)
    return caught.value.lines


def test_each_place_wins_over_the_next(tmp_path: Path) -> None:
    """Command line, environment, .env, rackside.toml: the first that says something is heard."""
    (tmp_path / "rackside.toml").write_text('book = "toml"\nzone = "Asia/Tokyo"\nlog = "debug"\n')
    (tmp_path / ".env").write_text("RACKSIDE_BOOK=env-file\nRACKSIDE_ZONE=Africa/Cairo\n")
    found = loaded(tmp_path, {"BOOK": "line"}, BOOK="environment", ZONE="Europe/Lisbon")
    assert (found.book, found.zone.key, found.log) == ("line", "Europe/Lisbon", "debug")
    assert loaded(tmp_path).zone.key == "Africa/Cairo"
    assert loaded(tmp_path, BOOK="environment").book == "environment"


def test_the_working_directory_comes_before_the_users_folder(tmp_path: Path) -> None:
    """A file in the working directory hides the one of the same name in the user's folder."""
    here, user = tmp_path / "here", tmp_path / "user"
    for folder, level in ((here, "debug"), (user, "error")):
        folder.mkdir()
        (folder / "rackside.toml").write_text(f'log = "{level}"\n')
    assert load({}, {}, (here, user)).log == "debug"
    (here / "rackside.toml").unlink()
    assert load({}, {}, (here, user)).log == "error"


def test_empty_is_unset(tmp_path: Path) -> None:
    """An empty value counts as none, and the next place is asked."""
    (tmp_path / ".env").write_text("RACKSIDE_LOG=warning\nRACKSIDE_SMS_MONTHLY=\n")
    found = loaded(tmp_path, LOG="", ZONE=" ")
    assert (found.log, found.sms_monthly) == ("warning", 300)


def test_a_wrong_zone_is_named(tmp_path: Path) -> None:
    """The line names the setting, what was said and what is wrong with it."""
    assert mistakes(tmp_path, ZONE="Europe/Lisbonn") == (
        'RACKSIDE_ZONE: no time zone "Europe/Lisbonn"',
    )


def test_every_mistake_has_its_line(tmp_path: Path) -> None:
    """All wrong settings are told at once, one line each."""
    lines = mistakes(
        tmp_path, LISTEN="here", URL="ftp://x", OPEN="maybe", SMS_MONTHLY="-1", LOG="loud",
        OWNER_CODE="short", TELEGRAM_TOKEN="secret", BOOK="mysql://x/y",
    )  # fmt: skip
    assert [line.split(":")[0].removeprefix("RACKSIDE_") for line in lines] == [
        "BOOK", "LISTEN", "URL", "TELEGRAM_TOKEN", "OWNER_CODE", "OPEN", "SMS_MONTHLY", "LOG",
    ]  # fmt: skip
    assert "secret" not in " ".join(lines)


def test_an_unknown_name_is_a_mistake(tmp_path: Path) -> None:
    """A name that is not in the table is told, with the nearest one, from any place."""
    (tmp_path / "rackside.toml").write_text('bok = "x"\n')
    (tmp_path / ".env").write_text("OTHER=1\n")
    lines = mistakes(tmp_path, ZONES="Europe/Lisbon")
    assert lines[0] == "RACKSIDE_ZONES: there is no such setting; did you mean RACKSIDE_ZONE?"
    assert lines[1].startswith("RACKSIDE_BOK: ")
    assert len(lines) == 2


def test_sms_is_set_whole_or_not_at_all(tmp_path: Path) -> None:
    """One of the three SMS settings asks for the other two."""
    lines = mistakes(tmp_path, SMS_ACCOUNT="AC1")
    assert [line.split(":")[0] for line in lines] == ["RACKSIDE_SMS_SECRET", "RACKSIDE_SMS_NUMBER"]


def test_the_defaults_lean_on_each_other(tmp_path: Path) -> None:
    """The address follows where it listens; the daily copies stand beside the book."""
    found = loaded(tmp_path, BOOK="/shelf/book.sqlite", LISTEN="0.0.0.0:99")
    assert (found.url, found.backups) == ("http://0.0.0.0:99", Path("/shelf/backups"))
    assert loaded(tmp_path, BACKUPS="off").backups is None
    assert loaded(tmp_path, URL="https://x.example/").url == "https://x.example"


def test_a_yes_in_toml_is_a_yes(tmp_path: Path) -> None:
    """TOML's own true and numbers do as well as words."""
    (tmp_path / "rackside.toml").write_text("open = true\nsms_monthly = 12\n")
    found = loaded(tmp_path)
    assert (found.open, found.sms_monthly) == (True, 12)


def test_a_broken_toml_file_is_told(tmp_path: Path) -> None:
    """A file that is no TOML is a mistake, not a traceback."""
    (tmp_path / "rackside.toml").write_text("zone = ")
    assert mistakes(tmp_path)[0].startswith("rackside.toml: ")


def test_the_table_and_the_settings_agree() -> None:
    """Every row of the table is a setting, and every setting a row."""
    assert {name.lower() for name in TABLE} == set(Settings.__dataclass_fields__)
