"""Everything that touches the world: sound in, journal, screen, records out.

The rooms follow the flow: audio, recognition, session, then console, records and review, which
only read what the session has folded. ``cli`` parses arguments and calls the rooms.
"""
