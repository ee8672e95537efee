"""A visit as facts: what changed, in which order, and what it has come to.

In: facts, each with the input that led to it. Out: ``visit.sqlite``, and the ``Visit`` folded from
the facts and from nothing else. ``facts`` are the words of the journal, ``state`` is what they come
to, ``apply`` the way from one to the other: there is no rule in it, so another version of the rules
reads an old visit as it was. What an input does is decided in ``dictation.decide``.
"""
