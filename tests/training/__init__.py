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

A round with people in it, so that English is kept, begins --kept 0.72 of the way from the original
to the base: --recordings DIR is a folder as ``bench people`` reads it, of which the tune side alone
teaches, and --calls are those of a yard, said by made voices and written as they are. Of short runs
half of their mean change:

    --kept 0.72 --recordings DIR --phrases 9000 --talk 5000 --calls 3000 --seed 17 --steps 1600
      --batch-seconds 384 --variant people-1=0.167 --variant people-2=0.167 --variant people-3=0.167

With --taken 0.85 and a fifth of each it asks less and forgets more.

The last two rounds of the four ended by the clock, shed-quick at 3,782 steps and herd-kind at
5,271, people-1 and -2 at 1,472 and 1,768, and the rate fell with the time, so the same weights to
the last number are not to be had again. Taken whole, shed and herd leave off the ends of phrases,
people the ends of strings of digits. The variants crowd, crowd-quick and breath went on from shed
and were not taken.
"""
