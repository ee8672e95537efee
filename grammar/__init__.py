"""Words become typed findings, findings become checked exams. Pure: no input, no output, no clock.

In: the text of a phrase. Out: a ``Reading`` with findings or a command, and for an ``Exam`` its
flags. Nothing here opens a file but the package's own grammar and tables, and nothing here knows
of sound, screens or storage.
"""

from grammar.constraint import constraint
from grammar.explain import completions
from grammar.normalise import normalise
from grammar.own_words import extended
from grammar.parse import parse
from grammar.short_forms import spelled_out
from grammar.vocabulary import Vocabulary, VocabularyError, built_in, in_force, take_up

__all__ = [
    "Vocabulary",
    "VocabularyError",
    "built_in",
    "completions",
    "constraint",
    "extended",
    "in_force",
    "normalise",
    "parse",
    "spelled_out",
    "take_up",
]
