"""What an input means for a visit, now: rules, and nothing else.

In: a ``Visit`` and one input (a phrase that was heard or typed, a key, a click). Out: the facts it
leads to. Facts go into the journal and are never decided again, so a rule may change here without
changing what is on record. Nothing here listens, draws or writes, but ``record``, which puts a
decision into the journal.
"""

from dictation.decide.deciding import decide

__all__ = ["decide"]
