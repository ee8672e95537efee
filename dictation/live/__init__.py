"""A visit while it is spoken: hearing, joining, answering, and the loop that holds them together.

In: utterances from a microphone or a recording, typed phrases, keys. Out: entries in the journal by
way of ``dictation.decide``, the CSV files as each animal closes, and events for a screen or JSON.
Nothing here draws.
"""
