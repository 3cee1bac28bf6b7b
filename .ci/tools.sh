#!/usr/bin/env bash
# Install what the tests of pages need: a browser and Java on the system, two checkers in the folder $1. Prints the
# settings that name the checkers: eval "$(.ci/tools.sh folder)".
set -euo pipefail
folder=$(realpath "$1")
mkdir -p "$folder/axe" "$folder/vnu"

packages=()
command -v chromium >/dev/null || packages+=(chromium)
command -v java >/dev/null || packages+=(default-jre-headless)
command -v npm >/dev/null || packages+=(npm)
if ((${#packages[@]})); then
  apt-get -q update >&2
  DEBIAN_FRONTEND=noninteractive apt-get -q install -y --no-install-recommends "${packages[@]}" >&2
fi

# Packed, not installed: one file of each is wanted, and no script of theirs is run.
(cd "$folder" && npm pack --silent axe-core@4.14.1 vnu-jar@26.9.27 >&2)
tar -xzf "$folder"/axe-core-*.tgz -C "$folder/axe" package/axe.min.js
tar -xzf "$folder"/vnu-jar-*.tgz -C "$folder/vnu" package/build/dist/vnu.jar
echo "export AXE_CORE=$folder/axe/package/axe.min.js VNU_JAR=$folder/vnu/package/build/dist/vnu.jar"
