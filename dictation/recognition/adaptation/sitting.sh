#!/bin/bash
# One sitting on the training machine: speak, train the variants side by side, a card each as far as
# there are cards, measure.
# usage: sitting.sh SEED TOTAL_SECONDS VARIANT ...
begun=$(date +%s); seed=$1; total=$2; shift 2
A="$PWD/${CARRIED:-.scratch/adapt}"; W=/tmp/w; mkdir -p $W/out; cd $W || exit 1
nvidia-smi --query-gpu=name,driver_version --format=csv,noheader
python3 -m pip install -q --no-index --no-deps --no-compile --no-cache-dir --upgrade --target /tmp/site "$A"/whl/*.whl || exit 1
tar -xJf "$A/engines.tar.xz" && gunzip -c "$A/sentences.tsv.gz" > said.tsv || exit 1
for b in flite espeak-ng; do
  mv engines/bin/$b engines/bin/$b.real
  printf '#!/bin/sh\nLD_LIBRARY_PATH=%s/engines/lib ESPEAK_DATA_PATH=%s/engines/data exec %s/engines/bin/%s.real "$@"\n' $W $W $W $b > engines/bin/$b
  chmod +x engines/bin/$b engines/bin/$b.real
done
mkdir -p $W/resume; cp "$A"/resume/*.npz $W/resume/ 2>/dev/null
export PATH="$W/engines/bin:$PATH" PYTHONPATH="$A/code:/tmp/site" PYTHONUNBUFFERED=1
export PYTORCH_CUDA_ALLOC_CONF=expandable_segments:True HF_HUB_OFFLINE=1 TRANSFORMERS_VERBOSITY=error RESUME_FOLDER=$W/resume
M=dictation.recognition.adaptation
OMP_NUM_THREADS=1 python3 -m $M.speech said.tsv $seed speech flite espeak hibari > speech.log 2>&1
tail -4 speech.log; echo "spoken after $(( $(date +%s) - begun )) s"
[ -f speech.npz ] || { tail -40 speech.log; exit 1; }
left=$(( total - 90 - ($(date +%s) - begun) ))
export OMP_NUM_THREADS=3
cards=$(nvidia-smi --list-gpus | wc -l); n=0
for v in original "$@"; do
  export CUDA_VISIBLE_DEVICES=$(( n++ % cards ))
  python3 -m $M.train $v $left "$A/base.npz" $W/out speech "$A/human" > $v.log 2>&1 &
done
( while sleep 45; do cp $W/out/[a-z]*[a-z0-9].npz "$OUT"/ 2>/dev/null; rm -f "$OUT"/*.part.npz; done ) & copier=$!
wait $(jobs -p | grep -v "^$copier$"); kill $copier
for v in original "$@"; do cat $v.log | grep -v -i warn | tail -25; done | tee "$OUT/train.log"
cat $W/out/*.tsv > "$OUT/results.tsv"; rm -f $W/out/*.part.npz; cp $W/out/*.npz "$OUT"/
echo "all after $(( $(date +%s) - begun )) s"; ls -la "$OUT"
