"""Teaching the speech model the trade: how the model of the product was made, and can be again.

``python -m tests.training --out DIR`` does it all, on any machine with an accelerator (extra
``training``). In DIR: sentences, speech, human recordings, proof that the network is the model, a
model folder for each variant, and ``model``.
The benches judge the result: ``python -m tests.bench recognition --model DIR/model``.

The shipped weights took four rounds, each with the result of the one before as --base:

    --seed 12 --steps 1148 --variant all-quick=0.5
    --seed 13 --steps 1388 --variant kind
    --seed 41 --steps 3797 --variant shed=0.375 --variant shed-quick=0.375, its base as --teacher
    --seed 83 --steps 5373 --variant herd=0.175 --variant herd-kind=0.175, with --engine kokoro
      for 1,500 of the sentences and its further speakers (KOKORO_STYLES)

Then each round ended by the clock, shed-quick at 3,782 steps and herd-kind at 5,271, and the
rate fell with the time, so the same weights to the last number are not to be had again. Taken
whole the last two leave off the ends of phrases. The variants crowd, crowd-quick and breath went
on from shed and were not taken.
"""
