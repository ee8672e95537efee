"""The compiled constraint: exactly its language, and no less than the reference library allows."""

from __future__ import annotations

import random
import re
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from llguidance import LLMatcher, LLTokenizer, TokenizerWrapper

from dictation.recognition.language import Language
from dictation.recognition.model_files import TOKENIZER_FILE, built_in_folder, file_or_original
from dictation.recognition.tokens import BEGIN, END, TokenTable, read_token_table
from grammar.constraint import constraint
from grammar.rules import text_of
from grammar.sample import sample_phrase
from tests.grammar.writing import written
from tests.recognition.small_grammars import CARDS, DIGITS, MOVES


@cache
def table() -> TokenTable:
    return read_token_table(file_or_original(built_in_folder(), TOKENIZER_FILE))


@cache
def language() -> Language:
    return Language(table(), constraint())


@cache
def numbers() -> dict[bytes, int]:
    return {p: n for n, p in enumerate(table().pieces) if n not in table().special}


def split(text: str, random_: random.Random) -> list[int]:
    """A text in tokens, each cut where chance will have it."""
    raw, tokens = f" {text}".encode(), []
    while raw:
        fitting = [n for n in range(1, len(raw) + 1) if raw[:n] in numbers()]
        length = random_.choice(fitting[-3:])
        tokens.append(numbers()[raw[:length]])
        raw = raw[length:]
    return tokens


@given(st.integers(0, 10**9))
@settings(deadline=None)
def test_every_way_of_writing_a_phrase_is_held_in_every_splitting(seed: int) -> None:
    chance = random.Random(seed)
    normal = sample_phrase(chance)
    text = written(normal, lambda options: chance.choice(list(options)))
    tokens = split(text, chance)
    state = Language.START
    for token in tokens:
        assert token in language().allowed(state), text
        after = language().after(state, token)
        assert after is not None
        state = after
    if "note" not in normal.split():
        assert language().accepts(state), text
        assert END in language().allowed(state)


@given(st.integers(0, 10**9))
@settings(deadline=None)
def test_the_allowed_tokens_are_just_those_that_lead_on(seed: int) -> None:
    chance, state = random.Random(seed), Language.START
    for _ in range(chance.randint(1, 12)):
        allowed = set(language().allowed(state).tolist())
        for token in chance.sample(range(3, len(table().pieces)), 200):
            leads_on = token not in table().special and language().after(state, token) is not None
            assert leads_on == (token in allowed)
        going_on = sorted(allowed - {END})
        if not going_on:
            return
        state = language().after(state, chance.choice(going_on)) or 0


def exam_text() -> str:
    """The constraint as a grammar text, each word as a terminal of its own."""
    rules = constraint()
    names = {t: f"W{n}" if t.startswith('"') else t for n, t in enumerate(rules.terminals)}
    bodies = (f"{name}: {text_of(rule)}" for name, rule in rules.named.items())
    spelled_out = re.sub(r'"[^"]+"', lambda word: names[word[0]], "\n".join(bodies))
    terminals = (f"{names[t]}: /{regex}/" for t, regex in rules.terminals.items())
    return "\n".join((spelled_out, *terminals))


class _Reference:
    """The token table as the reference library wants it."""

    def __init__(self) -> None:
        self.eos_token_id, self.bos_token_id = END, BEGIN
        self.tokens = list(table().pieces)
        self.special_token_ids = sorted(table().special)

    def __call__(self, text: bytes | str) -> list[int]:
        raw = text if isinstance(text, bytes) else text.encode()
        return [numbers()[raw[at : at + 1]] for at in range(len(raw))]


@pytest.mark.parametrize("grammar", [CARDS, DIGITS, MOVES, "exam"])
def test_what_the_reference_library_allows_is_allowed(grammar: str) -> None:
    """llguidance 1.9.1, over random walks. Its lexer takes the longest match and it leaves out
    splittings of a text that it can foresee, so ours may allow more; never less."""
    text = exam_text() if grammar == "exam" else grammar
    ours = Language(table(), constraint() if grammar == "exam" else grammar)
    inner = re.sub(r"^start:", "utterance:", text.lstrip(), flags=re.MULTILINE)
    compiled = LLMatcher.grammar_from_lark(f'start: " " utterance\n{inner}\n')
    tokenizer = LLTokenizer(
        TokenizerWrapper(_Reference()), n_vocab=len(table().pieces), eos_token=END
    )
    chance = random.Random(3)
    for _ in range(20):
        theirs, state = LLMatcher(tokenizer, compiled), Language.START
        for _ in range(chance.randint(2, 16)):
            mask = np.frombuffer(theirs.compute_bitmask(), np.uint8)
            bits = np.unpackbits(mask, bitorder="little")[: len(table().pieces)]
            wanted = np.flatnonzero(bits)
            assert np.isin(wanted, ours.allowed(state)).all()
            going_on = [int(t) for t in wanted if t != END]
            if not going_on:
                break
            token = chance.choice(going_on)
            assert theirs.consume_token(token)
            state = ours.after(state, token) or 0
            assert theirs.is_accepting() <= ours.accepts(state)


def test_what_was_worked_out_is_dropped_between_utterances_and_worked_out_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("dictation.recognition.language.MOST_STATES", 3)
    ours, tokens = Language(table(), CARDS), split("Ten of clubs.", random.Random(2))

    def masks() -> list[list[int]]:
        state: int | None = Language.START
        found = []
        for token in tokens:
            assert state is not None
            found.append(ours.allowed(state).tolist())
            state = ours.after(state, token)
        return found

    first = masks()
    ours.begin()
    assert masks() == first
    assert ours.holds(tokens)


@pytest.mark.parametrize(
    ("text", "held"),
    [
        ("Start listening", True),  # a word that is also the name of the first rule
        ("Utterance", False),
        ("Left ovary, C.L. 22mm.", True),
        ("Left ovary, C.L. 22mmm.", False),
        ("Left ova", False),
        ("Crown rump 0.5 cm", True),
    ],
)
def test_a_text_is_held_or_not(text: str, held: bool) -> None:
    assert language().holds(split(text, random.Random(1))) == held


@cache
def spelled(regex: str) -> Language:
    return Language(table(), f"start: WORD\nWORD: /{regex}/")


@pytest.mark.parametrize(
    "regex",
    [
        "forty[ -]?five",
        "[ab-]+",
        "[a-c]{1,2}x?",
        "(?:ab|a)*c",
        r"a[.\]]b",
        r"a\.b|ab",
        "[Ff]o(ur|r)[.,!?]?",
    ],
)
@given(st.data())
@settings(deadline=None)
def test_a_regular_expression_means_what_it_means_to_python(
    regex: str, data: st.DataObject
) -> None:
    """Against Python's own re: texts that match, and texts one character away."""
    text = data.draw(st.from_regex(regex, fullmatch=True))
    at = data.draw(st.integers(0, len(text)))
    instead = data.draw(st.sampled_from(["", *" -abcxFf.]"]))
    for tried in (text, text[:at] + instead + text[at + 1 :]):
        held = spelled(regex).holds(split(tried, random.Random(at)))
        assert held == (re.fullmatch(regex, tried) is not None), tried


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("start: nowhere", "'nowhere' used but not defined"),
        ("start: again\nagain: again WORD\nWORD: /x/", "contains itself"),
        ("start: (WORD\nWORD: /x/", "line 1, column 13"),
        ("start: WORD\nWORD: /a(?=b)/", "not supported"),
        ("begin: WORD\nWORD: /a/", "start"),
    ],
)
def test_a_constraint_that_cannot_be_read_says_why(text: str, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        Language(table(), text)
