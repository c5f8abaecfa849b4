"""The cautions: sourced, short enough for one text message, and called for by real events."""

from __future__ import annotations

import pytest

from scheduler.cautions import caution, events, for_event, keys
from scheduler.colony import DUE_KINDS

# The GSM 03.38 basic table without the characters that no caution should need.
GSM = set("@$ !\"#%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz")


@pytest.mark.parametrize("key", keys())
def test_a_caution_fits_one_text_message_and_names_its_source(key: str) -> None:
    """At most 160 characters of the GSM alphabet, with a source and what was seen of it."""
    each = caution(key)
    assert 0 < len(each.text) <= 160
    assert set(each.text) <= GSM
    assert each.source and each.seen and each.when


@pytest.mark.parametrize("event", events())
def test_every_event_names_cautions_that_exist(event: str) -> None:
    """Each event of the table leads to cautions of the file."""
    assert for_event(event)


def test_every_caution_is_called_for_by_some_event() -> None:
    """No caution lies unused."""
    assert {each.key for event in events() for each in for_event(event)} == set(keys())


def test_straining_leads_to_a_vet_and_an_ordinary_reading_to_nothing() -> None:
    """Straining says to call a reptile vet today; reading the incubator needs no caution."""
    assert "reptile vet today" in for_event("straining")[0].text
    assert "read-incubator" in DUE_KINDS and for_event("read-incubator") == ()


def test_an_unknown_caution_is_an_error() -> None:
    """A key that no caution has is refused."""
    with pytest.raises(KeyError):
        caution("no-such-thing")
