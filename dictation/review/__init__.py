"""The spoken log as a page on this machine: hear it again, put it right, stand for it.

In: the visit as ``decide.record`` holds it, and the kept sound. Out: HTML for a browser here
or beside the crush, and people's corrections to the journal. Nothing is fetched from elsewhere, and
nothing is served to whoever has not the token.
"""
