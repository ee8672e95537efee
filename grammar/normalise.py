"""Text as written by a person or a recogniser -> the plain text that the grammar reads.

Lower case, words with single spaces, no punctuation but the decimal point; letters and digits apart
("22mm" is "22 mm"), written forms of the vocabulary brought to one ("C.L." and "C L" are "cl").
Applied once, before the grammar; applying it twice changes nothing.
"""

from __future__ import annotations

import re

from grammar.vocabulary import Vocabulary, in_force

# Written short forms and what is spoken. The constraint offers the short forms to the recogniser.
CONTRACTIONS: dict[str, str] = {
    "she's": "she is",
    "that's": "that is",
    "it's": "it is",
    "there's": "there is",
    "i've": "i have",
    "couldn't": "could not",
    "we're": "we are",
    "can't": "cannot",
    "didn't": "did not",
    "don't": "do not",
}

_APOSTROPHE = re.compile(r"[\u2018\u2019\u02bc`]")
# As it may be typed; a recogniser is offered "is" alone.
_NOUN_IS = re.compile(
    r"\b(fluid|embryo|calf|womb|uterus|ovary|horn|cervix|tract|head|condition|cleansing)'s\b"
)
_IS_NOT = re.compile(r"\b(is|has|would)n't\b")
_CONTRACTION = re.compile(r"\b(" + "|".join(CONTRACTIONS) + r")\b")
_THOUSANDS = re.compile(r"\b([1-9][0-9]{0,2}),([0-9]{3})\b(?![,.]?[0-9])")
_ORDINAL = re.compile(r"\b([0-9]{1,2})(st|nd|rd|th)\b")
_NOT_WORD = re.compile(r"[^a-z0-9. ]")
_LOOSE_POINT = re.compile(r"(?<![0-9])\.|\.(?![0-9])")
_DIGIT_LETTER = re.compile(r"([0-9])(?=[a-z])|([a-z])(?=[0-9])")
_ISH = re.compile(
    r"\b(two|three|four|five|six|seven|eight|nine|ten|[a-z]+teen|[a-z]+ty|[0-9]+)ish\b"
)
_ORDINAL_MARK = re.compile(r"\b([0-9]{1,2}) (st|nd|rd|th)\b")
_LONGEST_VARIANT = 5


def normalise(text: str, vocabulary: Vocabulary | None = None) -> str:
    """Normalised text; an empty string if nothing but punctuation was given."""
    vocabulary = vocabulary or in_force()
    plain = _APOSTROPHE.sub("'", text.lower())
    plain = _CONTRACTION.sub(lambda m: CONTRACTIONS[m.group(1)], plain)
    plain = _IS_NOT.sub(r"\1 not", _NOUN_IS.sub(r"\1 is", plain))
    plain = _THOUSANDS.sub(r"\1\2", plain).replace("'", "")
    plain = plain.replace("½", " and a half ").replace("%", " percent ")
    plain = _NOT_WORD.sub(" ", plain)
    plain = _several_points_apart(_LOOSE_POINT.sub(" ", plain))
    ordinals = _ORDINAL.findall(plain)
    plain = _DIGIT_LETTER.sub(lambda m: m.group(0) + " ", plain)
    if ordinals:
        plain = _ORDINAL_MARK.sub(r"\1\2", plain)
    plain = _ISH.sub(r"\1 ish", plain)
    return " ".join(_one_form(plain.split(), vocabulary))


def _several_points_apart(text: str) -> str:
    """'1.2.3' is no decimal number: its points become spaces."""
    return re.sub(r"[0-9]+(?:\.[0-9]+){2,}", lambda m: m.group(0).replace(".", " "), text)


def _one_form(words: list[str], vocabulary: Vocabulary) -> list[str]:
    """Bring written variants to the vocabulary's one form, longest variant first."""
    variants = vocabulary.variants
    out: list[str] = []
    at = 0
    while at < len(words):
        for length in range(min(_LONGEST_VARIANT, len(words) - at), 0, -1):
            form = variants.get(tuple(words[at : at + length]))
            if form is not None:
                out.append(form)
                at += length
                break
        else:
            out.append(words[at])
            at += 1
    return out
