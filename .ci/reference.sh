#!/usr/bin/env bash
# Write the reference of the Python interface, as HTML, to the folder $1: what `import reportgen` offers, and the values
# that it returns. A docstring that is no proper one, or a name that is not there, ends it.
set -euo pipefail
folder=$(realpath "$1")
maker=${PYTHON:-$(dirname "$0")/../.venv/bin/python}
maker=$(realpath --no-symlinks "$maker")
cd "$(dirname "$0")/.."
"$maker" -W error::UserWarning -m pdoc reportgen '!reportgen\..+' reportgen.door.trial reportgen.door.results \
  reportgen.model.trial reportgen.model.results reportgen.model.problem --no-show-source --output-directory "$folder"
