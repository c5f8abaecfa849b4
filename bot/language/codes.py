"""Finds what the book knows by name: tags, animals' names, egg slots, boxes and places."""

from __future__ import annotations

from collections.abc import Iterator

from bot.language.items import Code
from bot.language.view import View


def find_tag(letters: str, digits: str, view: View, raw: str = "") -> str | None:
    """The book's spelling of a tag typed as letters and digits ("f", "3"), or None."""
    for spelling in _spellings(letters, digits, raw):
        if spelling in view.animals:
            return spelling
    return None


def _spellings(letters: str, digits: str, raw: str) -> Iterator[str]:
    if raw:
        yield raw
        yield raw.upper()
    number = digits.lstrip("0") or "0"
    for word in (letters.upper(), letters, letters.capitalize()):
        for figure in dict.fromkeys((digits, number, number.zfill(2), number.zfill(3))):
            yield f"{word}{figure}"
            yield f"{word}-{figure}"
    yield f"{letters.upper()} {number}"
    yield f"{letters.upper()}_{number}"
    yield f"{letters.upper()}.{number}"


def find_box(word: str, view: View) -> str | None:
    """The book's letter (or name) for a box typed as `word`, or None."""
    for spelling in (word.upper(), word, word.capitalize()):
        if spelling in view.boxes:
            return spelling
    return view.box_names.get(word.casefold())


def slot_exists(slot: str, view: View) -> bool:
    """True where the box has that slot."""
    box, number = split_slot(slot)
    seen = view.boxes.get(box)
    return seen is not None and 1 <= number <= seen.rows * seen.columns


def split_slot(slot: str) -> tuple[str, int]:
    """Box and number of a slot: "B4" is ("B", 4)."""
    box = slot.rstrip("0123456789")
    digits = slot[len(box) :]
    return box, int(digits[:6]) if digits else 0


def code_of(letters: str, digits: str, view: View, raw: str = "", heard: bool = False) -> Code:
    """The code that letters and digits make, with what the book knows of it."""
    number = str(int(digits[:9]))
    box = find_box(letters, view)
    return Code(
        wrote=f"{letters.upper()}{digits}",
        tag=find_tag(letters, digits, view, raw),
        slot=f"{box}{number}" if box is not None else None,
        heard=heard,
    )


def near_tags(tag: str, view: View, limit: int = 3) -> tuple[str, ...]:
    """Tags of the book that look most like an unknown one; the cost does not grow with the book."""
    letters = tag.rstrip("0123456789").rstrip("-_ .")
    digits = tag[len(tag.rstrip("0123456789")) :]
    found: list[str] = []
    for near_letters, near_digits in _nearby(letters, digits):
        known = find_tag(near_letters, near_digits, view)
        if known and known not in found and view.animals[known].status == "kept":
            found.append(known)
        if len(found) == limit:
            break
    return tuple(found)


def _nearby(letters: str, digits: str) -> Iterator[tuple[str, str]]:
    if not digits:
        return
    number = int(digits[:6])
    yield letters, digits[::-1]
    for step in (1, 2, 3, 4):
        for near in (number - step, number + step):
            if near >= 0:
                yield letters, str(near)
    for digit in "0123456789":
        yield letters, digits + digit
    if len(digits) > 1:
        yield letters, digits[:-1]
        yield letters, digits[1:]
    for other in "FMHLPGABCDEIJKNOQRSTUVWXYZ":
        yield other, digits
    for number in range(1, 10):
        yield letters, str(number)


def box_slots(box: str, view: View) -> list[str]:
    """Every slot of a box, in order."""
    seen = view.boxes[box]
    return [f"{box}{n}" for n in range(1, min(seen.rows * seen.columns, 999) + 1)]
