"""Everything that touches the world: sound in, journal, screen, records out.

The rooms follow the flow: audio, recognition, session, then console, records and review, which
only read what the session has folded. ``cli`` parses arguments and calls the rooms.
"""

import os

# onnxruntime reports its use over the network unless this stands before it is first imported; its
# own function to switch that off does not (its Privacy.md, and name look-ups seen). Whatever the
# caller's environment says: what is said in a shed stays there.
os.environ["ORT_DISABLE_TELEMETRY"] = "1"
