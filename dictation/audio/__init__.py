"""Sound in: a recording or a microphone becomes utterances.

In: a file, or blocks of a microphone. Out: ``Utterance``, mono float32 samples at 16 kHz with their
times. Nothing here knows of words, findings or a visit.
"""
