"""Hearing: an utterance in, ranked hypotheses out.

A recogniser (``protocol.Recogniser``) takes mono sound of one utterance and says what became of it:
heard, silence, not our language, too long, or failed; never an empty string for all of them. What
it heard are hypotheses, best first, each normalised for the grammar and with its log probability,
beside a free hearing without the grammar, and a confidence between 0 and 1 with its reasons.

``guided`` is the engine by default: the decoder of a small speech model that writes only what the
parser can read. ``vosk_engine`` is another, whose grammar is only a hint; so whatever is heard is
parsed like anything else. Nothing here knows of visits: which words are doubtful for whom is
decided in ``dictation.decide``.
"""
