"""The picture of the screen in README: of the screen as it is. --rewrite-golden draws it anew."""

from __future__ import annotations

import io
import re
from pathlib import Path

from rich.console import Console

from dictation.console.live import Live, Microphone, live_screen
from dictation.live.guide import LEFT_FIRST
from dictation.records.herd_list import read_herd_list
from dictation.visit.facts import HerdListed
from tests.console.drawing import flags_of
from tests.decide.spoken import Phrase, Unsure, visit_of

ROOT = Path(__file__).parents[2]
PICTURE = ROOT / "tests/pictures/screen.svg"
WIDTH, HEIGHT = 88, 24
SPOKEN: tuple[Phrase, ...] = (
    "cow eight thirty-seven",
    "cervix normal, body clear, left horn clear, left ovary small follicles",
    "right horn, pregnant about forty-five days, heartbeat seen, crown rump thirty millimetres",
    "next cow",
    "cow four one two",
    "open, cervix normal, body clear, both horns clear",
    "next animal",
    "cow nine five four",
    "cervix normal, body clear, left horn clear",
    "right horn, pregnant seventy-five days, crown rump twenty-two millimetres",
    "left ovary no CL, good heartbeat",
    Unsure("right ovary CL forty", ("right ovary CL fourteen",)),
)
"""Three cows of the demonstration; the last of them with what is asked and what is flagged."""


def drawn() -> str:
    herd = read_herd_list(ROOT / "audio_fixtures/demo_herd.csv")
    visit = visit_of(HerdListed(herd.digest, herd.source, herd.animals), *SPOKEN)
    live = Live(Microphone("Headset", -23.0, "good"), "09:41:07", LEFT_FIRST)
    console = Console(file=io.StringIO(), record=True, width=WIDTH, height=HEIGHT)
    console.print(live_screen(visit, flags_of(visit), live, WIDTH, HEIGHT))
    svg = console.export_svg(title="hornsweep listen", unique_id="screen")
    # The fonts it asks for would come over the network: the reader's own fixed one will do.
    svg = re.sub(r"@font-face \{.*?\}\s*", "", svg, flags=re.DOTALL)
    return "\n".join(line.rstrip() for line in svg.splitlines()) + "\n"


def test_the_picture_in_readme_is_of_the_screen_as_it_is(rewrite_golden: bool) -> None:
    if rewrite_golden:
        PICTURE.write_text(drawn(), encoding="utf-8")
    svg = PICTURE.read_text(encoding="utf-8")
    assert svg == drawn()
    assert re.findall(r"url\((?!#)", svg) == []


def test_the_picture_shows_the_animal_what_is_asked_and_a_flag() -> None:
    svg = PICTURE.read_text(encoding="utf-8").replace("&#160;", " ")
    assert [w for w in ("\u2588", "ASKED", "1 = ", "2 flags", "LISTENING") if w not in svg] == []
