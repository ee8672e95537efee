"""The cow in hand, spoken commands and the journal.

In: utterances with what was heard in them, typed words, a person's corrections. Out: events in
``visit.sqlite``, the ``Visit`` folded from them, and session events for the screen and for JSON.
``session`` is the one module that knows the order of the steps. Nothing here draws or listens.
"""
