"""Reads boxes and slots: "box B slot 4", "slots 4 and 5 of B", and lists of them."""

from __future__ import annotations

from collections.abc import Sequence

from bot.language.code_words import CodeReader
from bot.language.codes import find_box, split_slot
from bot.language.items import Code, Item

_NOT_LETTERS = frozenset({"a", "i"})


class SlotReader(CodeReader):
    """Boxes, slots and lists of slots."""

    def _box_letter(self, i: int) -> tuple[str, int] | None:
        """A box's letter or name at token `i`, after the word "box"; also by sound."""
        if i >= len(self.tokens):
            return None
        for n in (3, 2, 1):
            if i + n <= len(self.tokens):
                known = self.view.box_names.get(self._joined(i, n))
                if known is not None:
                    return known, i + n
        token = self.tokens[i]
        if token.sort == "word":
            letter = self._has(i, "soundletter")
            if letter is not None and find_box(letter, self.view) is not None:
                return find_box(letter, self.view) or letter, i + 1
            if len(token.text) == 1:
                return token.text.upper(), i + 1
        return None

    def _box(self, i: int, before: Sequence[Item]) -> Item | None:
        """ "box B", "box B slot 4", "box b #4", "boxes A and B"."""
        if self._has(i, "boxnoun") is None:
            return self._bare_box(i)
        start = i + 1
        if self._text(start) in ("-", "#", ":"):
            start += 1
        letter = self._box_letter(start)
        if letter is None:
            return None
        box, j = letter
        slot = self._slots_after_box(box, j)
        if slot is not None:
            return self._slot_item(slot[0], i, slot[1])
        boxes, j = self._more_boxes([box], j)
        return Item("box", tuple(boxes), i, j, self._raw(i, j))

    def _bare_box(self, i: int) -> Item | None:
        """ "B slot 4", "b slots 4 and 5"."""
        token = self.tokens[i]
        named = self.view.box_names.get(token.text) if len(token.text) > 2 else None
        led = self._text(i - 1) in ("in", "into", "to", "from", "and", "&", ",", "at")
        if named is not None and self._everyday(i) and led:  # "in moss 3", of a box called Moss
            slot = self._slots_after_box(named, i + 1)
            if slot is not None:
                return self._slot_item(slot[0], i, slot[1])
        if named is not None and self._text(i - 1) not in ("'s", "s") and not self._everyday(i):
            slot = self._slots_after_box(named, i + 1)
            if slot is not None:
                return self._slot_item(slot[0], i, slot[1])
            return Item("box", (named,), i, i + 1, token.raw)
        if len(token.text) == 1 and self._lone_letter(i):
            boxes, j = self._more_boxes([find_box(token.text, self.view) or token.text], i + 1)
            return Item("box", tuple(boxes), i, j, self._raw(i, j))
        if token.sort != "word" or (
            len(token.text) > 1 and find_box(token.text, self.view) is None
        ):
            return None
        box = find_box(token.text, self.view) or self._has(i, "soundletter")
        if (
            box is None
            or self._has(i + 1, "slotnoun") is None
            or self._text(i + 1) in ("no", "number", "spot", "hole", "space")
        ):
            return None
        known = find_box(box, self.view)
        slot = self._slots_after_box(known, i + 1) if known else None
        return self._slot_item(slot[0], i, slot[1]) if slot else None

    def _lone_letter(self, i: int) -> bool:
        """ "20 ml to B", "any room in C": a box's letter alone after a small word."""
        token = self.tokens[i]
        follow = self.tokens[i + 1] if i + 1 < len(self.tokens) else None
        if (
            not (
                self._text(i - 1) in ("in", "to", "into", "for")
                or self._has(i - 1, "act", "water")
                or (self._text(i - 1) == "of" and self._text(i - 2) in ("all", "whole", "rest"))
            )
            or find_box(token.text, self.view) is None
        ):
            return False
        if follow is not None and (
            follow.sort == "number" or self._has(i + 1, "slotnoun") or self._has(i + 1, "number")
        ):
            return False
        if not self.figures and self._has(i + 1, "soundnumber"):
            return False
        return token.raw.isupper() or token.text not in ("a", "i", "c", "f")

    def _more_boxes(self, boxes: list[str], j: int) -> tuple[list[str], int]:
        while j < len(self.tokens) and (
            self._text(j) in ("and", "&", ",", "+", "/") or self._next_letter(j)
        ):
            k = j if self._next_letter(j) else j + 1
            if self._text(k) in ("and", "&"):
                k += 1
            if self._has(k, "boxnoun"):
                k += 1
            elif len(self._text(k)) != 1 or self._text(k) in _NOT_LETTERS:
                break
            letter = self._box_letter(k)
            if letter is None or letter[0] not in self.view.boxes or letter[0] in boxes:
                break
            if self._slots_after_box(letter[0], letter[1]) is not None:
                break
            boxes.append(letter[0])
            j = letter[1]
        return boxes, j

    def _next_letter(self, j: int) -> bool:
        """ "box A B and C": one more letter of a box, standing alone."""
        text = self._text(j)
        follow = self.tokens[j + 1] if j + 1 < len(self.tokens) else None
        return (
            len(text) == 1
            and text not in _NOT_LETTERS
            and find_box(text, self.view) is not None
            and (follow is None or follow.sort != "number")
        )

    def _slots_after_box(self, box: str, j: int) -> tuple[list[str], int] | None:
        """Slot numbers that follow a box: "slot 4", "#4", "4 & 5", ", slots 4 and 5"."""
        k = j
        if self._text(k) in (",", ":", "-", "/", "in", "s", "'s") and self._has(k + 1, "slotnoun"):
            k += 1
        named = False
        while self._has(k, "slotnoun") is not None or self._text(k) == "#":
            named, k = True, k + 1
        number = self._heard(k) if named or self._spoken_after(k) else self._number(k)
        if number is None or (not named and not self._bare_slot(k, number[1])):
            return None
        return self._numbers(box, number[0], number[1], named)

    def _spoken_after(self, k: int) -> bool:
        """ "oak three and oak for have veins": dictated, with nothing for the "for" to lead to."""
        if self.figures or self._has(k, "soundnumber") is None:
            return False
        told = self._text(k + 1)
        ended = k + 1 >= len(self.tokens) or self.tokens[k + 1].sort == "sign"
        return ended or told in ("have", "has", "had", "are", "is", "and", "look", "looks", "both")

    def _bare_slot(self, k: int, j: int) -> bool:
        """In "box B 27.1" or "box B 2 eggs" the number is no slot."""
        if self.tokens[k].sort == "number" and not self.tokens[k].text.isdigit():
            return False
        senses = self.lexicon.single(self._text(j))
        return not any(
            s.cls in ("unit", "food", "climate") or s.value in ("egg", "hatch") for s in senses
        )

    def _numbers(self, box: str, first: str, j: int, named: bool) -> tuple[list[str], int]:
        """The rest of a list of slot numbers: "4 and 5", "4-6", "4, 5 & 6"."""
        numbers = [int(first)]
        while j < len(self.tokens):
            step = self._list_step(j, numbers[-1], named)
            if step is None:
                break
            more, j = step
            numbers += more
        return [f"{box}{n}" for n in dict.fromkeys(numbers)], j

    def _list_step(self, j: int, last: int, named: bool) -> tuple[list[int], int] | None:
        """One more step of a list of numbers after a slot: the numbers it adds, the token after."""
        sign = self._text(j)
        k = j + 1
        if sign in ("to", "-", "–", "thru", "through", "till", "until") or sign.startswith(".."):
            number = self._number(k)
            if number is None or (sign == "to" and not named):
                return None
            top = int(number[0])
            if self._counted(number[1]):
                return None
            if last < top <= last + 60:
                return list(range(last + 1, top + 1)), number[1]
            return None
        if sign not in ("and", "&", "+", "/", ",", "n", "plus"):
            if (
                named
                and self.tokens[j].sort == "number"
                and self.tokens[j].text.isdigit()
                and not (self.tokens[j].glued)
                and not self._counted(j + 1)
            ):
                return [int(self.tokens[j].text[:6])], j + 1
            return None
        while self._text(k) in ("and", "&") or (self._has(k, "slotnoun") and self._text(k) != "no"):
            k += 1
        number = self._number(k)
        if number is None or self._counted(number[1]):
            return None
        if self.tokens[k].sort == "number" and not self.tokens[k].text.isdigit():
            return None
        spaced = not self.tokens[k].glued
        if sign == "," and spaced and not named and len(self._text(k)) > 2:
            return None
        if (
            sign in (",", "and", "&")
            and spaced
            and not named
            and self._text(number[1]) in ("in", "from")
        ):
            return None
        return [int(number[0])], number[1]

    def _slot_words(self, i: int, before: Sequence[Item]) -> Item | None:
        """ "slot 4 in box B", "slots 4 and 5 of B", and "slot 4" with the box left open ("?4")."""
        if self._has(i, "slotnoun") is None or self._text(i) in ("no", "number", "nos", "num"):
            return None
        k = i + 1
        while self._text(k) == "#" or self._has(k, "slotnoun") is not None:
            k += 1
        letter = self._box_letter(k)
        if (letter is not None and len(self._text(k)) == 1) or self._has(k, "boxnoun"):
            code, j = self._one_code(k)  # "slot B4", "slots B4 and B5"
            if code is not None and code.slot is not None:
                return self._slot_list(code, i, j)
        number = self._heard(k)
        if number is not None and self._is_measure(number[1]):
            return None
        if number is None:
            code, j = self._one_code(k)
            return self._slot_list(code, i, j) if code is not None and code.slot else None
        slots, j = self._numbers("?", number[0], number[1], True)
        m = j
        if self._text(m) in ("in", "of", "on", ",", "from", "at", "inside"):
            m += 1
        if self._text(m) == "the":
            m += 1
        boxed = self._has(m, "boxnoun") is not None
        found = self._box_letter(m + 1 if boxed else m)
        if (
            found is not None
            and (boxed or found[0] in self.view.boxes)
            and (boxed or m > j or len(self._text(m)) == 1)
            and not (not boxed and self._number(m + 1) is not None)
        ):
            return self._slot_item([found[0] + s[1:] for s in slots], i, found[1])
        return self._slot_item(slots, i, j)

    def _is_measure(self, j: int) -> bool:
        """ "hot spot 31c": the number is a measure and no slot."""
        return self._has(j, "unit") is not None and self.tokens[j].glued

    def _slot_list(self, code: Code, i: int, j: int) -> Item:
        """A slot and the list that may follow: "B4-5", "B4 and 5", "B4, B5 & B6", "B4 B5"."""
        slot = code.slot or code.wrote
        box, _number = split_slot(slot)
        last = self.tokens[j - 1]
        slots = [slot]
        if last.sort == "number" and "," in last.text:
            slots += [f"{box}{int(part[:6])}" for part in last.text.split(",")[1:] if part]
        while j < len(self.tokens):
            more, k = self._next_slot(box, slots, j)
            if k == j:
                break
            slots += more
            j = k
        slots = list(dict.fromkeys(slots))
        item = self._slot_item(slots, i, j)
        item.codes = (code,)
        return item

    def _next_slot(self, box: str, slots: list[str], j: int) -> tuple[list[str], int]:
        sign = self._text(j)
        k = j
        while self._text(k) in ("and", "&", ",", "+", "/", "-", "–", "n", "plus") and k - j < 2:
            k += 1
        code, end = self._one_code(k) if k < len(self.tokens) else (None, k)
        if code is not None and code.slot is not None and code.tag is None:
            if sign in ("-", "–") and k == j + 1:
                first, last = split_slot(slots[-1])[1], split_slot(code.slot)
                if last[0] == box and first < last[1] <= first + 60:
                    return [f"{box}{n}" for n in range(first + 1, last[1] + 1)], end
            if sign in ("->", "→"):
                return [], j
            if sign in ("/", "+") and k == j + 1:
                return [code.slot], end
        if k > j and code is None:
            step = self._list_step(j, split_slot(slots[-1])[1], False)
            if step is not None:
                return [f"{box}{n}" for n in step[0]], step[1]
        return [], j

    def _slot_item(self, slots: Sequence[str], i: int, j: int) -> Item:
        codes = tuple(Code(slot, slot=slot) for slot in slots[:1])
        return Item("slot", tuple(slots), i, j, self._raw(i, j), codes=codes)
