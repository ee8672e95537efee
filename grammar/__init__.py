"""Words become typed findings, findings become checked exams. Pure: no input, no output, no clock.

In: the text of a phrase. Out: a ``Reading`` with findings or a command, and for an ``Exam`` its
flags. Nothing here opens a file but the package's own grammar and tables, and nothing here knows
of sound, screens or storage.
"""

from grammar.constraint import constraint
from grammar.normalise import normalise
from grammar.parse import Parser, parse
from grammar.vocabulary import Vocabulary, VocabularyError, built_in, extended

__all__ = [
    "Parser",
    "Vocabulary",
    "VocabularyError",
    "built_in",
    "constraint",
    "extended",
    "normalise",
    "parse",
]
