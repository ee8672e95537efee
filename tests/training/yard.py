"""What is called across a yard while cows are examined: short, and not for the recorder.

Said by made voices and labelled as plain English, so that the model writes 'go on' where somebody
says it, and no finding that sounds like it. A call that the grammar reads is none of these; a third
of what is drawn is left to the benches by the rule that holds phrases out.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator

from grammar.parse import parse
from tests.training.phrases import is_held_out

_LISTS: dict[str, str] = {
    "her": "her|her|him|them|that one|this one|the next one|the last one|the red one|the wild one",
    "cow": "cow|heifer|bull|calf|one|lot|bunch|dog",
    "thing": "gate|door|crush|rope|halter|hose|bucket|tail|chain|light|headlock|hatch|race|box",
    "way": "up|back|out|in|through|round|over|along|down|off|away",
    "side": "left|right",
    "name": "Tom|Mary|Jack|Ann|lads|boys|girl|everyone|boss",
    "body": "foot|hand|back|head|fingers|arm|legs|toes",
    "soon": "now|there|again|please|quick|slowly|in a minute|for me|if you can|when you're ready",
    "many": "one|two|three|four|five|six|eight|ten|a dozen|twenty",
}
_CALLS = (
    "go on|go on then|go on out|go on up|go|go home|up|up you go|get up|get on|come on|"
    "come on now|come here|come up|hold {her}|hold {her} {soon}|hold on|hold it|hold still|"
    "hold that {thing}|open the {thing}|open it up|shut the {thing}|shut that {thing}|"
    "close the {thing}|let {her} out|let {her} go|let {her} in|let {her} {way}|push {her} {way}|"
    "move {her} {way}|turn {her} {way}|bring {her} in|bring {her} {way}|bring the next {cow} in|"
    "send {her} {way}|leave {her}|leave {her} there|watch yourself|watch your {body}|watch out|"
    "watch {her}|watch the {thing}|mind the {thing}|mind your {body}|mind yourself {name}|"
    "wash {her} out|wash {her} down|wash your {body}|wash it off|was empty last time|"
    "{her} was empty last time|she was open then|she was in calf last year|she had twins before|"
    "a bit to the {side}|left a bit|right a bit|a bit more|a bit more {side}|"
    "{side} a little more|over to the {side}|right so|right then|right you are|all right|"
    "all right {name}|that's it|that will do|there's a {side} one|what's left|how many left|"
    "{many} left|{many} more|{many} to go|only {many} left in there|steady|steady girl|easy|"
    "easy now|easy girl|whoa|whoa there|stand|stand still|stand over|stand back|get over|"
    "get back|get out of it|get {way}|get {her} {way}|back up|back a bit|slow down|hurry up|wait|"
    "wait there|wait a minute|wait for me|stay there|stay back|sit down|down|down a bit|off|on|"
    "turn it off|turn on the light|turn the {thing} round|put {her} {way}|put it down|"
    "put that {way}|pull the {thing}|pull it tight|lift the {thing}|lift her tail|mind her tail|"
    "tie {her} up|grab {her}|grab the {thing}|give me the {thing}|give it here|give {her} a push|"
    "pass me a glove|new glove|another glove|any more gel|where's the {thing}|where's {name}|"
    "who's next|what's next|what about {her}|is that it|is that the lot|how's she doing|"
    "how is {her}|she's a kicker|she kicks|she's quiet|she's mad|she's big|she's a good {cow}|"
    "good girl|good man|good lad|good dog|well done|well now|nice one|lovely|grand|great|"
    "fair enough|no bother|no problem|no hurry|no way|not yet|not that one|not you|yes please|"
    "thanks|thank you {name}|thanks {name}|sorry|sorry {name}|hello|hello {name}|hey|hey {name}|"
    "oi|bye|see you later|see you next month|okay|okay {name}|okay so|so|and then|wow|oh dear|"
    "oh no|damn|is it raining|it's cold|it's wet in here|that's heavy|that's broken|"
    "that's a good {cow}|that {cow} there|the {thing} is stuck|the {thing} is open|"
    "the {thing} fell down|the bulling heifer is next door|we're nearly done|nearly there|"
    "last one|time for tea|tea's ready|tell {name}|ask {name}|ring {name}|{name} is on the phone|"
    "I'm coming|I can't see|can you see|can you hold {her}|did you get that|what did you say|"
    "say that again {name}|call the dog|cull her if you like|kill the engine|fetch {her}|"
    "feed them later|milk her last|marvellous|happy days|bird|tree|house|cat|a cat|bed|stop|"
    "stop there|stop {her}|stop it {name}|yeah|aye|okay now|one more|one at a time|two at a time|"
    "next {name}|next door|keep going|keep {her} there|keep them coming|keep back|keep out|"
    "keep the {thing} shut|run {her} {way}|walk on|walk {her} {way}|through you go|in you go|"
    "out you go|there you go|here we go|here she comes|here she is|there she goes|she's out|"
    "she's loose|she's down|they're out|close it behind you|the other one|the other side|"
    "not that side|this side|that side|other {thing}|who left that open|"
    "you left the {thing} open|he left it|it's on the {side}|your {side} {body}|turn {side}|"
    "go {side}|go {side} there|keep {side}"
)


def calls(count: int, seed: int) -> Iterator[str]:
    """So many calls with capitals and stops; none that is ours, none that the benches measure."""
    rng = random.Random(f"yard {seed}")
    drawn = 0
    while drawn < count:
        words = re.sub(r"\{(\w+)\}", lambda m: rng.choice(_LISTS[m[1]].split("|")), _call(rng))
        text = f"{words[:1].upper()}{words[1:]}"
        sentence = f"{text}{'?' if _asks(words) else '.'}"
        if is_held_out(sentence.lower()) or parse(words).unread is None:
            continue
        drawn += 1
        yield sentence


def _call(rng: random.Random) -> str:
    return rng.choice(_CALLS.split("|"))


def _asks(words: str) -> bool:
    return words.startswith(("where", "who's", "what", "how", "is ", "can you", "did you", "any"))
