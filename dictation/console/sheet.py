"""What can be said of what, on one sheet: examples, and the words the vocabulary has for it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from grammar.language import exam_language
from grammar.rules import names_in
from grammar.vocabulary import Vocabulary, in_force

Words = tuple[tuple[str, tuple[str, ...]], ...]
"""What is meant, as the contract names it, and the forms in which it is said."""


@dataclass(frozen=True, slots=True)
class Heading:
    """Of what something can be said: examples in quotes, and the words for it."""

    of: str
    examples: tuple[str, ...]
    words: Words


_HEADINGS: tuple[tuple[str, str, str], ...] = (
    (
        "the animal",
        "animal tag_in_colour",
        "next cow eight thirty-seven; heifer two six oh five; tag double four one; "
        "yellow tag ninety-one; no tag",
    ),
    (
        "cervix, body, horns",
        "uterus cervix_remark",
        "cervix normal, body clear; right horn cloudy fluid twenty millimetres; "
        "two centimetres of fluid in the left horn; right horn larger; whites grade two",
    ),
    (
        "where the tract lies",
        "lie tract_score",
        "over the brim; couldn't draw it back; tract score four",
    ),
    (
        "ovaries",
        "ovary",
        "left ovary CL twenty-two, follicle nine; eighteen mil follicle on the right; "
        "CL twenty-four with a cavity eight millimetres; follicle sixteen by fourteen; "
        "cystic on the left, thin walled, thirty-five; two CLs, one each side; no CL on the right; "
        "follicle one inch on the right; twenty-five by twenty mil CL; "
        "CL left, same on the right; just ovulated on the left; nothing on the right",
    ),
    (
        "a place, remarks on it",
        "station_remark",
        "left ovary not seen; could not reach the right ovary; no visible structures on the left",
    ),
    (
        "pregnancy",
        "pregnancy",
        "pregnant left horn about forty-five days; pregnant forty to forty-five days; six weeks; "
        "a thirty-five dayer; forty odd days; late in calf; held to the first service; open",
    ),
    ("twins", "conceptus", "twins, one each horn; twins both sides; triplets"),
    ("life", "viability", "good heartbeat; no heartbeat, membranes detached; lost it; calf moving"),
    ("landmarks", "landmark", "limb buds; placentomes, no split hooves; fremitus both sides"),
    (
        "sizes",
        "measurement",
        "crown rump thirty millimetres; thirty mil crown rump; head width two point four "
        "centimetres; twin one crown rump forty; trunk two and a half centimetres",
    ),
    ("sex", "fetal_sex", "bull calf; twin two heifer calf; can't sex"),
    (
        "condition",
        "condition",
        "condition two and a half; two and a half condition; "
        "body condition two point seven five out of five",
    ),
    (
        "plan",
        "plan",
        "recheck in two weeks; recheck on the third of December; back on Friday week; "
        "PG today, serve at heat; device out in seven days; breed on next heat; dry off",
    ),
    (
        "history",
        "history",
        "served six weeks ago; calved forty days ago; sixty days in milk",
    ),
    ("remarks, kept as words", "remark", "lame; on heat; due in June; note kicked the gate"),
    (
        "to the tool",
        "beginning ending size_alone",
        "next cow; make that twenty-four; sixteen, not sixty; no, right; no, eight weeks; "
        "eighteen on the right; correction, left ovary CL twenty-four",
    ),
)
# Between the words that carry something: numbers, units, places, and what only joins.
_JOINS = frozenset(
    """
    a ago article by carrying condition_word count day_word dayer days due each_side fortnight
    gone_word grade half inches ish months next_week next_visit of on quarter quarters seen
    the thin thick to_word today tomorrow visible week weeks left right centimetres millimetres
    okay_word no_side adjective adjective_word horn_word ovary_word uterus_word cervix_word
    both_sides both_ovaries both_horns body_place left_ovary_short right_ovary_short one_each_horn
    first_fetus second_fetus dead about approximately_after slip_join corpora_lutea follicles cysts
    out_of leg cervix_open cervix_closed bare_male bare_female next_animal correcting correction
    endometritis_graded degree looks_like that_is in_her she_is coat untagged_cow
    """.split()  # noqa: SIM905
)


def sheet(vocabulary: Vocabulary | None = None) -> tuple[Heading, ...]:
    """Every heading in the order of the sweep, with the words of the vocabulary in force."""
    vocabulary = vocabulary or in_force()
    named = exam_language(vocabulary).named

    def terms_under(rule: str, met: set[str]) -> Iterator[str]:
        """Terms that a rule leads to, in the order in which it names them."""
        for name in names_in(named[rule]):
            if name in met:
                continue
            met.add(name)
            if name in vocabulary.terms:
                if name not in _JOINS and not name.endswith("_word"):
                    yield name
            else:
                yield from terms_under(name, met)

    found: list[Heading] = []
    told: set[str] = set()
    for of, rules, examples in _HEADINGS:
        met: set[str] = set()
        terms = [t for rule in rules.split() for t in terms_under(rule, met) if t not in told]
        told |= set(terms)
        words = tuple((term, vocabulary.terms[term]) for term in terms)
        found.append(Heading(of, tuple(examples.split("; ")), words))
    return tuple(found)
