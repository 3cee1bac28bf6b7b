#!/usr/bin/env bash
# Write what an installed reportgen is made of, each library with version and licence, to the file $1 (CycloneDX, JSON;
# checked by its schema before it is written). It looks into the environment of the Python $2, or into a new one.
set -euo pipefail
file=$(realpath "$1")
maker=${PYTHON:-$(dirname "$0")/../.venv/bin/python}
maker=$(realpath --no-symlinks "$maker")
installed=${2:-}
cd "$(dirname "$0")/.."
if [[ -z $installed ]]; then
  scratch=$(mktemp -d)
  trap 'rm -rf "$scratch"' EXIT
  python3 -m venv --without-pip "$scratch/installed"
  installed=$scratch/installed/bin/python
  "$maker" -m pip -q --python "$installed" install .
fi
"$maker" -m cyclonedx_py environment --pyproject pyproject.toml --output-reproducible --spec-version 1.6 \
  --output-format JSON --validate --output-file "$file" "$installed"
