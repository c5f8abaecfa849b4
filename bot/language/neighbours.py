"""What a word can't mean beside its neighbours ("has laid", "water dish", "no sign of eggs").

Each rule looks at one word and takes a sense away, or puts another in its place. They are tried in
the order of the table, since one may clear the way for the next.
"""

from __future__ import annotations

from bot.language import near_eggs, near_meals, near_people, near_verbs
from bot.language.near import Near, Rule

# The class of words that a rule looks at ("" is any), and the rule.
RULES: tuple[tuple[str, Rule], ...] = (
    ("act", near_verbs.empty_verb),
    ("", near_verbs.mate),
    ("state", near_eggs.nothing_seen),
    ("fed", near_meals.each_other),
    ("fed", near_meals.not_eaten_yet),
    ("", near_people.month_of_may),
    ("species", near_eggs.species_of_an_egg),
    ("fed", near_meals.refusal),
    ("act", near_verbs.weight_lost),
    ("act", near_verbs.put_down),
    ("how", near_people.found_again),
    ("act", near_eggs.eggs_inside),
    ("how", near_people.cant_find_a_thing),
    ("", near_eggs.nothing_in_it),
    ("", near_people.no_sign_of),
    ("act", near_verbs.changed),
    ("act", near_verbs.gone_bad),
    ("act", near_verbs.to_a_number),
    ("act", near_eggs.my_eggs),
    ("sex", near_people.somebody),
    ("everyone", near_meals.all_of_what),
    ("act", near_verbs.handled_for_sexing),
    ("act", near_eggs.young_spoken_of),
    ("act", near_verbs.place_weighed),
    ("act", near_verbs.surely_what),
    ("act", near_meals.water_bowl),
    ("sign", near_eggs.eggs_looked_for),
    ("", near_eggs.pushed_out),
    ("how", near_people.given_food),
    ("", near_people.bought_from_us),
    ("act", near_people.looked_for_sex),
    ("", near_people.one_of_the),
    ("", near_verbs.done_two),
    ("act", near_verbs.let),
    ("food", near_meals.shopping),
    ("mood", near_verbs.tried),
    ("sign", near_verbs.no_interest),
)


def settle(near: Near) -> None:
    """Leaves the word only the senses that its neighbours allow."""
    senses = near.item.senses
    for cls, rule in RULES:
        if not cls or cls in senses:
            rule(near)
            senses = near.item.senses
