"""Phrases drawn from the grammar with the weights of a morning's work: tags, sizes and ages most.

For benches, training sound and the page 'what can I say'. Everything drawn is a sentence of
exam.lark with one reading; numbers are drawn from the ranges in which such values lie.
"""

from __future__ import annotations

import random
from collections.abc import Callable

from grammar.parse import parse
from grammar.say import say_digits, say_number
from grammar.vocabulary import built_in

Draw = Callable[[random.Random], str]

# How often a kind of breath is drawn, in parts: our estimate of practice, no source.
_SIDES = ("left", "right")


def _term(rng: random.Random, name: str) -> str:
    """A spoken form of a term; the first, most usual one half of the time."""
    return _drawn(rng, built_in().usual[name])


def _drawn(rng: random.Random, forms: tuple[str, ...]) -> str:
    return forms[0] if rng.random() < 0.5 else rng.choice(forms)


def _tag(rng: random.Random) -> str:
    """A tag of two to four digits, spoken digit by digit or in pairs, or with 'double'."""
    digits = "".join(rng.choice("0123456789") for _ in range(rng.choice((2, 3, 3, 3, 4, 4))))
    if rng.random() < 0.5 or digits[0] == "0":
        words = say_digits(digits)
        if len(digits) > 1 and digits[0] == digits[1] and digits[0] != "0" and rng.random() < 0.5:
            words = f"double {say_digits(digits[0])} {say_digits(digits[2:])}".strip()
        return words
    if len(digits) == 3:
        return say_number(int(digits)) if rng.random() < 0.2 else _in_pairs(digits[:1], digits[1:])
    if len(digits) == 4:
        return _in_pairs(digits[:2], digits[2:])
    return say_number(int(digits))


def _weighted(rng: random.Random, table: str) -> str:
    """One of the words of a table, each of which is followed by its weight."""
    cells = table.split()
    return rng.choices(cells[::2], [int(weight) for weight in cells[1::2]])[0]


def _in_pairs(head: str, tail: str) -> str:
    """ "eight thirty seven", "twenty six oh five"."""
    last = say_digits(tail) if tail.startswith("0") else say_number(int(tail))
    return f"{say_number(int(head))} {last}"


def _animal(rng: random.Random) -> str:
    word = rng.choice(("cow", "cow", "cow", "tag", "heifer", "number", "animal"))
    return f"{word} {_tag(rng)}"


def _next(rng: random.Random) -> str:
    words = _term(rng, "next_animal")
    return words if rng.random() < 0.3 else f"next cow {_tag(rng)}"


def _mm(rng: random.Random, low: int, high: int) -> str:
    size = rng.randint(low, high)
    ways = rng.random()
    if ways < 0.55:
        return say_number(size)
    if ways < 0.9:
        return f"{say_number(size)} {rng.choice(('millimetres', 'mil', 'mil'))}"
    return f"{say_number(size / 10)} centimetres"


def _structure(rng: random.Random) -> str:
    kind = _weighted(
        rng,
        "corpus_luteum 40 follicle 30 static 8 cyst 3 luteal_cyst 3 follicular_cyst 3"
        " small_follicles 4 corpus_haemorrhagicum 3 nothing 3",
    )
    words = _term(rng, kind)
    if kind == "corpus_luteum" and words in {"cls", "corpora lutea"}:
        words = "cl"
    cysts = dict.fromkeys(("cyst", "luteal_cyst", "follicular_cyst"), (25, 60))
    ranges = {"corpus_luteum": (10, 32), "follicle": (5, 22), **cysts}
    if kind in ranges and rng.random() < 0.75:
        words += f" {_mm(rng, *ranges[kind])}"
        if kind == "follicle" and rng.random() < 0.1:
            words = f"{_term(rng, kind)} {say_number(rng.randint(10, 22))} by {_mm(rng, 8, 20)}"
    if kind == "corpus_luteum" and rng.random() < 0.08:
        words += f" with a cavity of {_mm(rng, 3, 12)}"
    if kind in {"luteal_cyst", "cyst"} and rng.random() < 0.4:
        words += f" wall {say_number(rng.randint(1, 7))} mil"
    return words


def _ovary(rng: random.Random) -> str:
    side = rng.choice(_SIDES)
    place = rng.choices((f"{side} ovary", side, f"on the {side}"), (70, 15, 15))[0]
    words = f"{place} {_structure(rng)}"
    return words if rng.random() < 0.75 else f"{words} {_structure(rng)}"


def _both_ovaries(rng: random.Random) -> str:
    return f"left ovary {_structure(rng)} right ovary {_structure(rng)}"


def _age(rng: random.Random) -> str:
    about = rng.choice(("", "", "about ", "around "))
    unit = _weighted(rng, "days 70 weeks 20 months 10")
    low, high, halves = {"days": (26, 140, 0.0), "weeks": (4, 18, 0.2), "months": (2, 8, 0.4)}[unit]
    half = " and a half" if halves and rng.random() < halves else ""
    return f"{about}{say_number(rng.randint(low, high))}{half} {unit}"


def _pregnancy(rng: random.Random) -> str:
    words = _term(rng, "pregnant")
    if rng.random() < 0.4:
        words += f" {rng.choice(_SIDES)} horn"
    return f"{words} {_age(rng)}" if rng.random() < 0.85 else words


def _one_of(table: str) -> Draw:
    """Draws a form of one of the terms of a table, as ``_weighted`` reads it."""
    return lambda rng: _term(rng, _weighted(rng, table))


def _any_of(*terms: str) -> Draw:
    """Draws a form of one of several terms that are as usual as each other."""
    return lambda rng: _term(rng, rng.choice(terms))


_status = _one_of("open 80 uncertain 20")
_sex = _any_of("male", "female", "undetermined")
_viability = _one_of("heartbeat 60 no_heartbeat 10 movement 15 membranes_detached 5 lost 10")
_landmark = _any_of("embryo", "amnion", "limb_buds", "placentomes", "split_hooves", "ribs")
_command = _one_of("scratch 50 read_back 20 close 20 pause 5 resume 5")


def _measurement(rng: random.Random) -> str:
    quantity = _weighted(rng, "crown_rump_length 75 biparietal_diameter 15 trunk_diameter 10")
    return f"{_term(rng, quantity)} {_mm(rng, 10, 60)}"


def _conceptus(rng: random.Random) -> str:
    return rng.choice(("twins one each horn", "twins same horn", "twins", "twins one each side"))


def _uterus(rng: random.Random) -> str:
    place = rng.choice(("left horn ", "right horn ", "uterus ", ""))
    state = _weighted(
        rng,
        "clear 40 fluid 10 cloudy_fluid 10 pyometra 8 endometritis 8 good_tone 12 poor_tone 6"
        " involuted 6",
    )
    words = _drawn(rng, _dirty()) if state == "endometritis" else _term(rng, state)
    if state in {"fluid", "cloudy_fluid", "pyometra"} and rng.random() < 0.5:
        words += f" {_mm(rng, 4, 60)}"
    return place + words


def _dirty() -> tuple[str, ...]:
    """Endometritis, and what is seen of it, in the order that keeps the drawn phrases the same."""
    usual = built_in().usual
    (pus, purulent), (dirty, cow, clean) = usual["pus"], usual["dirty"]
    return (*usual["endometritis"], dirty, cow, *usual["whites"], purulent, pus, clean)


def _seen(rng: random.Random) -> str:
    side = rng.choice(_SIDES)
    seen = f"{side} ovary not seen", "cervix normal", f"{side} ovary normal"
    unseen = f"could not see the {side} ovary", f"{side} horn could not reach"
    return rng.choice((*seen, *unseen))


def _plan(rng: random.Random) -> str:
    action = _weighted(
        rng,
        "recheck 50 breed 10 prostaglandin 8 cull 6 watch 8 sample 4 progesterone_device 6 leave 8",
    )
    forms = built_in().usual[action]
    if action == "recheck":
        # "back" always says when; it keeps its place, so that the drawn phrases stay the same
        forms = (*forms[:4], built_in().spoken("back_word"), *forms[4:])
    words = _drawn(rng, forms)
    if action == "recheck":
        days = f"{say_number(rng.randint(5, 40))} days"
        words += " in " + rng.choice(("a fortnight", "two weeks", "three weeks", "ten days", days))
    return words


_SCORES = ("two", "two and a half", "two point seven five", "three", "three and a quarter")


def _condition(rng: random.Random) -> str:
    return f"{_term(rng, 'condition_word')} {rng.choice(_SCORES)}"


def _change(rng: random.Random) -> str:
    return f"make that {_mm(rng, 8, 60)}"


BREATHS: tuple[tuple[Draw, int], ...] = (
    (_next, 10),
    (_animal, 10),
    (_ovary, 24),
    (_both_ovaries, 5),
    (_pregnancy, 16),
    (_status, 6),
    (_measurement, 6),
    (_conceptus, 3),
    (_sex, 3),
    (_viability, 4),
    (_landmark, 2),
    (_uterus, 8),
    (_seen, 3),
    (_plan, 8),
    (_condition, 2),
    (_command, 4),
    (_change, 2),
)
_FOLLOWERS: dict[Draw, tuple[Draw, ...]] = {
    _animal: (_pregnancy, _status, _ovary),
    _ovary: (_pregnancy, _uterus),
    _pregnancy: (_ovary, _viability, _sex, _measurement),
    _status: (_plan,),
    _conceptus: (_viability,),
    _uterus: (_ovary, _plan),
}
_MOST_DRAWS = 200


def sample_phrase(rng: random.Random) -> str:
    """One breath in normalised words with exactly one reading."""
    for _ in range(_MOST_DRAWS):
        draw = rng.choices([d for d, _ in BREATHS], [w for _, w in BREATHS])[0]
        words = draw(rng)
        followers = _FOLLOWERS.get(draw)
        if followers and rng.random() < 0.3:
            words += f" {rng.choice(followers)(rng)}"
        reading = parse(words)
        if reading.said and not reading.others and reading.normal == words:
            return words
    raise RuntimeError(f"no phrase with one reading in {_MOST_DRAWS} draws")
