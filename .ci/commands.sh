#!/usr/bin/env bash
# Run every command of the program $1 (a path) in the new folder $2, and keep there what it wrote and said, so that
# two installations can be compared.
set -euo pipefail
program=$(realpath --no-symlinks "$1")
samples=$(cd "$(dirname "$0")/../sample_workbook" && pwd)
mkdir "$2"
cd "$2"

# Keep what a command says, and its exit code, in the file $1; it must be $2.
said() {
  local file=$1 expected=$2 code=0
  shift 2
  "$program" "$@" >"$file" 2>&1 || code=$?
  if [[ $code != "$expected" ]]; then
    echo "reportgen $* ended with $code instead of $expected:" >&2
    cat "$file" >&2
    exit 1
  fi
}

cp "$samples"/*.xlsx .
said build.txt 0 build pak-choi-root-warmth.xlsx basil-day-length.xlsx --out site
said check.txt 0 check pak-choi-root-warmth.xlsx
said dictionary.txt 0 dictionary
said schema.txt 0 dictionary --schema results
said plan.txt 0 plan --difference 20 --between 5 --within 10 --seed 7 --figure plan.svg

# A blank workbook is unfinished, not wrong.
said new.txt 0 new blank.xlsx --treatment plain --treatment warm --blocks 4 --seed 7
said blank.txt 0 check blank.xlsx
said new-spanish.txt 0 new spanish.xlsx --treatment testigo --treatment tibio --seed 7 --language es --with all \
  --weeks 4 --start 2026-03-02 --labels labels.pdf
said blank-spanish.txt 0 check spanish.xlsx --today 2026-03-12
said dictionary-spanish.txt 0 dictionary --language es
said marked.txt 0 check blank.xlsx --marked marked.xlsx

# A log in its owner's layout, its questions answered as an owner would, and the words of another language.
printf '%s\n' 'Tray,Lamp,Plant,Fresh weight (g)' A,red,1,20.5 A,red,2,21.5 B,red,1,19.5 B,red,2,22.5 \
  C,white,1,24.5 C,white,2,25.0 D,white,1,26.5 D,white,2,23.0 >log.csv
said adopt.txt 1 adopt log.csv --no-input
said unanswered.txt 0 check log.csv
printf '%s\n' '{"trial.title": "Two lamps", "trial.crop": "basil", "trial.started_on": "2026-04-01",' \
  '"trial.harvested_on": "2026-05-04", "trial.reference": "red", "confirm": "yes"}' >answers.json
said answered.txt 0 adopt log.csv --json --answers answers.json
echo 'language = "es"' >spanish.toml
said adopted.txt 0 check log.csv
said spanish.txt 0 build log.csv --out site-spanish --no-pdf --settings spanish.toml

said version.txt 0 --version
test -s site/pak-choi-root-warmth/report.pdf
test -s site/basil-day-length/index.html
grep -q '<html lang="es"' site-spanish/log/index.html
