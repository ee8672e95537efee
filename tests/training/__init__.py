"""Teaching the speech model the trade: how the adapted weights were made, one command a step.

Not part of the product at run time, and needing what the product does not: PyTorch, transformers,
soxr, PyAV and the synthesisers of the benches. M stands for ``python -m
tests.training``; BASE is the folder of the original model.

    M.phrases 9000 1 phrases.txt                    trade phrases, none held out
    M.sentences phrases.txt 9000 3 sentences.tsv    what is said and what is to be written
    M.pack BASE base.npz                            the original's weights in one small file
    M.agreement BASE recordings.npz                 proof that the rebuilt network is the original
    M.human ASSETS PROMPTS PROMPTS.txt human judge  human recordings: teacher's, validating, judging
    M.speech sentences.tsv 7 speech flite espeak hibari
    M.train all 400 base.npz OUT speech human       one variant, on an accelerator
    sitting.sh speak SEED SECONDS ENGINE ...; train SECONDS VARIANT ...; wait SECONDS
                                                    speech and training in calls of some minutes,
                                                    from a folder of what the steps above made, the
                                                    wheels, and the binaries of flite and espeak-ng
    M.export BASE base.npz OUT/all.npz FOLDER       a model folder that the product can load
    M.judge judge BASE FOLDER                       human recordings heard by both
    M.blend OUT.npz 0.5 OUT/all.npz                 half a change; or the mean of several

The shipped weights, by seed, seconds and variant: 12, 570, all-quick from the original; half of
that change (blend) as the resume.npz of 13, 540, kind; then that model as BASE and teacher of 41,
600, shed and shed-quick, on a card each; 0.375 of either change (blend). From there, with the
original as BASE and teacher, 83, 882, herd and herd-kind; 0.65 of the change before and 0.175 of
either (blend); M.export. Taken whole these two leave off the ends of phrases. The variants crowd,
crowd-quick and breath went on from shed and were not taken.
"""
