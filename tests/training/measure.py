# mypy: disable-error-code="import-not-found,import-untyped,misc,untyped-decorator"
"""What validates a training: phrases and voices it never saw, and human recordings, freely heard.

Free hearing is the harder test; the guided recogniser is judged by the benches afterwards. Numbers
count by value, so '22' and 'twenty-two' are the same word.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import torch
from torch import Tensor
from transformers import MoonshineForConditionalGeneration

from dictation.recognition.learning import Pieces
from dictation.recognition.learning.network import encode
from dictation.recognition.tokens import BEGIN, END
from tests.bench import shed_noise
from tests.training.conditions import Conditions
from tests.training.corpus import HUMAN, TALK, TRADE, Recording
from tests.training.sound import NOISE_S, Sounds
from tests.training.wording import edits, plain

ROWS = 160
MOST = {TRADE: 320, TALK: 160, HUMAN: 240}
SNRS: dict[str, tuple[float | None, ...]] = {
    TRADE: (None, 15.0, 10.0, 5.0),
    TALK: (None, 10.0),
    HUMAN: (None, 10.0),
}


def measured(
    model: MoonshineForConditionalGeneration,
    pieces: Pieces,
    recordings: Sequence[Recording],
    device: torch.device,
    clean: Conditions,
) -> list[str]:
    """A line for each kind and noise: recordings, share of them right, share of wrong words."""
    model.eval()
    noise = np.stack([shed_noise.pink(NOISE_S, 5), shed_noise.shed(NOISE_S, 6)])
    bank = torch.from_numpy(noise.astype(np.float32)).to(device)
    lines: list[str] = []
    for (kind, sort), validating in sorted(_groups(recordings).items()):
        snrs = SNRS[kind]
        chosen = sorted(validating[: MOST[kind]], key=lambda r: len(r.samples))
        sounds = Sounds([r.samples for r in chosen], bank, device)
        for snr in snrs:
            how = clean if snr is None else replace(clean, clean=0.0, snr_db=(snr, snr))
            heard = _heard(model, pieces, sounds, how, device)
            pairs = [(plain(r.written), plain(h)) for r, h in zip(chosen, heard, strict=True)]
            right = sum(said == got for said, got in pairs) / len(pairs)
            wrong = sum(edits(*p) for p in pairs) / sum(len(said) for said, _ in pairs)
            level = "quiet" if snr is None else f"{snr:.0f} dB"
            lines.append(f"{sort}\t{level}\t{len(pairs)}\t{right:.3f}\t{wrong:.3f}")
    model.train()
    return lines


def _groups(recordings: Sequence[Recording]) -> dict[tuple[str, str], list[Recording]]:
    """What validates, by kind; people's recordings by what is in them."""
    found: dict[tuple[str, str], list[Recording]] = {}
    for recording in recordings:
        sort, _, speaker = recording.voice.partition("/")
        named = recording.kind == HUMAN and speaker
        if recording.validation:
            found.setdefault((recording.kind, sort if named else recording.kind), []).append(
                recording
            )
    return found


def _heard(
    model: MoonshineForConditionalGeneration,
    pieces: Pieces,
    sounds: Sounds,
    how: Conditions,
    device: torch.device,
) -> list[str]:
    """Freely heard texts, in order; the noise is the same for every model."""
    chance = torch.Generator(device).manual_seed(99)
    texts: list[str] = []
    count = len(sounds.lengths)
    for at in range(0, count, ROWS):
        rows = np.arange(at, min(at + ROWS, count))
        heard = sounds.batch(rows, how, chance)[0]
        longest = int(heard.shape[1] / 16_000 * 8) + 8
        texts += [pieces.decode(tokens) for tokens in greedy(model, heard, longest)]
    return texts


@torch.no_grad()
def greedy(
    model: MoonshineForConditionalGeneration, sound: Tensor, longest: int
) -> list[list[int]]:
    """The likeliest tokens, one after another, of every row; without BEGIN and END."""
    hidden = encode(model, sound)
    tokens = torch.full((len(sound), 1), BEGIN, dtype=torch.long, device=sound.device)
    done = torch.zeros(len(sound), dtype=torch.bool, device=sound.device)
    for _ in range(longest):
        decoded = model.model.decoder(
            input_ids=tokens, encoder_hidden_states=hidden, use_cache=False
        ).last_hidden_state
        best = model.proj_out(decoded[:, -1]).argmax(-1)
        best = torch.where(done, END, best)
        tokens = torch.cat([tokens, best[:, None]], 1)
        done |= best == END
        if bool(done.all()):
            break
    return [[t for t in row if t != END] for row in tokens[:, 1:].tolist()]
