"""Everyday sentences of our own, so that training on a trade does not unteach English.

Put together from patterns and word lists by a seed: the house, the road, the weather, work, food,
plans, numbers of every kind, and farm talk that shares words with the exam but is none of it. The
benches have chatter of their own, which is not looked at here; a third of what is drawn is left to
them by the rule that holds phrases out.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator

from grammar.say import say_digits, say_number
from tests.training.phrases import is_held_out

_LISTS: dict[str, str] = {
    "person": "my sister|my father|the postman|our teacher|a friend of mine|the doctor|the driver|"
    "my cousin|the baker|the old man|her mother|the manager|the plumber|the captain|a stranger|"
    "the children|everyone|nobody|the nurse|the farmer|our neighbours|the mechanic|the shopkeeper",
    "verbed": "found|bought|sold|painted|broke|borrowed|cleaned|forgot|carried|dropped|repaired|"
    "washed|lost|opened|closed|moved|described|remembered|wanted|needed|hid|photographed|measured",
    "object": "a wooden chair|the blue car|an old book|the kitchen window|a letter|two tickets|"
    "the garden fence|a pair of boots|the television|a basket of apples|the front door|his bicycle|"
    "a long ladder|the newspaper|the radio|some bread and cheese|a heavy box|the keys|her umbrella|"
    "the piano|a bottle of milk|the map|a bunch of flowers|the computer|a clean shirt|the lamp",
    "where": "in the kitchen|at the station|near the river|on the table|behind the church|upstairs|"
    "in the village|by the sea|outside the school|under the bridge|at the end of the street|"
    "in the office|on the train|in the car park|at the hospital|over the hill|in the garden|"
    "beside the fire|across the road|in the library|at home",
    "when": "yesterday|this afternoon|on Monday|last week|before breakfast|in the evening|"
    "two years ago|every summer|at half past seven|after the meeting|during the night|in October|"
    "on the way home|a long time ago|at midnight|the day before yesterday|once a month|next year",
    "adjective": "quiet|beautiful|difficult|cheap|strange|comfortable|dangerous|useful|enormous|"
    "terrible|friendly|empty|bright|narrow|dry|cold|important|funny|expensive|simple|dark|ordinary",
    "noun": "house|road|film|story|question|journey|weather|dinner|answer|morning|village|room|"
    "picture|song|holiday|machine|river|conversation|mountain|idea|letter|shop|summer|language",
    "doing": "reading the paper|waiting for the bus|making soup|cutting the grass|writing a letter|"
    "listening to music|looking for a job|learning to swim|playing cards|fixing the roof|singing|"
    "walking the dog|driving to work|watching the rain|talking on the telephone|building a wall",
    "adverb": "slowly|quickly|carefully|never|always|usually|hardly ever|suddenly|politely|again|"
    "sometimes|quietly|finally|almost|certainly",
    "town": "London|Dublin|Chicago|Sydney|Edinburgh|Toronto|Bristol|Boston|Auckland|Cardiff",
    "animal": "dog|cat|horse|bird|sheep|cow|pig|hen|fox|rabbit|calf|bull|goose|donkey",
    "farming": "the hay is nearly dry|the milk tanker was late|the parlour needs a new pump|"
    "the calves got out through the hedge|the silage smells sweet this year|"
    "the slurry tank is full|the big field wants ploughing|the shed roof leaks|"
    "the bull is in the far paddock|the water trough is frozen|the fence is down again|"
    "the dry cows have gone to grass|the heifers are on the hill|the tractor would not start",
    "part": "my left knee|his right hand|her back|the left mirror|the right lane|my right eye|"
    "the left side of the road|the right answer|the horn of the car|the left boot|my left ear",
    "unit": "days|weeks|months|years|hours|minutes|miles|metres|people|chairs|pages|letters|stairs|"
    "eggs|litres|pounds|kilos|bales|sheep|cows",
    "weekday": "Monday|Tuesday|Wednesday|Thursday|Friday|Saturday|Sunday",
    "month": "January|February|March|April|May|June|July|August|September|October|November|"
    "December",
}
_PATTERNS = (
    "{person} {verbed} {object} {where}.",
    "{person} {verbed} {object} {when}.",
    "{when}, {person} {verbed} {object}.",
    "{person} was {doing} when {person} {verbed} {object}.",
    "I was {doing} {where}.",
    "It was a {adjective} {noun}, and {person} {adverb} {verbed} it.",
    "The {noun} was {adjective} but the {noun} was {adjective}.",
    "Have you ever seen such a {adjective} {noun}?",
    "Why is {person} {doing} {where}?",
    "We went to {town} {when} and {verbed} {object}.",
    "The train to {town} leaves at {clock}.",
    "How far is it from {town} to {town}?",
    "She {adverb} speaks about the {noun}.",
    "He said that the {noun} would be {adjective}.",
    "If it rains, {person} will be {doing}.",
    "I don't think {person} {verbed} {object}.",
    "That isn't the {noun} I wanted.",
    "Could you tell {person} that I'm {doing}?",
    "Nobody told me about the {adjective} {noun}.",
    "You can't be {doing} {where}.",
    "There's a {adjective} {animal} {where}.",
    "The {animal} ran across the road and frightened {person}.",
    "It takes {number} {unit} to get there.",
    "There were {number} {unit} {where}.",
    "About {number} {unit} later, {person} came back.",
    "We have {number} {unit} left, give or take.",
    "{person} is {number} years old and lives in {town}.",
    "It cost {number} pounds {when}.",
    "Turn to page {number}, please.",
    "The meeting is on {weekday} the {ordinal} of {month}.",
    "My telephone number is {digits}.",
    "The code is {digits}.",
    "{digits}.",
    "{number}.",
    "{number}, {number}, {number}.",
    "{person} hurt {part} {when}.",
    "Something is wrong with {part}.",
    "Keep to {part} and stop at the lights.",
    "I think {farming}.",
    "{person} says {farming}.",
    "{farming}, so we are late.",
    "There are {number} of them in the shed and {number} outside.",
    "She calved {when}, no trouble at all.",
    "He paid {number} pounds for that {animal} {when}.",
    "We'll do the rest of them {when}.",
    "Mind yourself, that one is {adjective}.",
    "Hold on a second, I dropped {object}.",
    "Where did you put {object}?",
    "Is that {animal} yours?",
    "Thanks very much, that was {adjective}.",
    "Good morning, how are you today?",
    "I'll be back in {number} minutes.",
    "Sorry, could you say that again?",
    "Not now, I'm {doing}.",
    "What a {adjective} {noun} that was {when}.",
    "Yes, but {person} {adverb} {verbed} {object}.",
    "Let's have a cup of tea before we start.",
    "Shut that door, it's {adjective} in here.",
    "Whose turn is it to make the {noun}?",
    "They've been {doing} since {clock}.",
)
_ORDINALS = (
    "first|second|third|fourth|fifth|sixth|seventh|eighth|ninth|tenth|eleventh|twelfth|"
    "thirteenth|fifteenth|eighteenth|twentieth|thirtieth"
)


def talk(count: int, seed: int) -> Iterator[str]:
    """So many sentences with capitals and stops; none that the benches may measure."""
    rng = random.Random(seed)
    drawn = 0
    while drawn < count:
        sentence = _sentence(rng)
        if not is_held_out(sentence.lower()):
            drawn += 1
            yield sentence


def _sentence(rng: random.Random) -> str:
    filled = re.sub(r"\{(\w+)\}", lambda m: _filled(m.group(1), rng), rng.choice(_PATTERNS))
    return filled[:1].upper() + filled[1:]


def _filled(slot: str, rng: random.Random) -> str:
    if slot == "number":
        return _hyphenated(
            rng.choice((rng.randint(1, 20), rng.randint(13, 99), rng.randint(1, 999)))
        )
    if slot == "digits":
        return say_digits("".join(rng.choice("0123456789") for _ in range(rng.randint(2, 7))))
    if slot == "clock":
        return f"{say_number(rng.randint(1, 12))} {_hyphenated(rng.randint(10, 59))}"
    if slot == "ordinal":
        return rng.choice(_ORDINALS.split("|"))
    return rng.choice(_LISTS[slot].split("|"))


def _hyphenated(number: int) -> str:
    return re.sub(
        r"(ty) (?=one|two|three|four|five|six|seven|eight|nine)", r"\1-", say_number(number)
    )
