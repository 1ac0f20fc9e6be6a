#!/usr/bin/env bash
# Counts the instructions of a house-week with valgrind's callgrind and splits them by function: the
# demo's house as it stands, its hottest week, from the files to a row of results.
#
#   benches/instructions.sh            counts and compares with benches/runs/instructions.txt
#   benches/instructions.sh --keep     writes that file anew
#
# Instructions do not depend on what else the machine does: a change of a hundredth is a change of the
# program. They do depend on the compiler, whose version is told. Without valgrind nothing is done.
set -euo pipefail
cd "$(dirname "$0")/.."
if ! command -v valgrind >/dev/null 2>&1; then
  echo "no valgrind here: nothing is counted"
  exit 0
fi
kept=benches/runs/instructions.txt
target=$(cargo metadata --format-version 1 --no-deps --offline | sed 's/.*"target_directory":"\([^"]*\)".*/\1/')
# Names of functions are wanted, and the rest as it ships.
CARGO_PROFILE_RELEASE_DEBUG=line-tables-only CARGO_PROFILE_RELEASE_STRIP=none \
  cargo build --release --quiet --locked --target-dir "$target/instructions"
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
valgrind --tool=callgrind --callgrind-out-file="$folder/counts" --log-file="$folder/log" \
  "$target/instructions/release/rafterheat" sweep src/house/demo.toml --vary "design=as it stands" \
  --weather weather-samples/delta-california-2017-summer.csv --threads 1 --json --quiet >/dev/null
{
  echo "# $(rustc --version), $(valgrind --version), $(uname -m)"
  # A function is listed once for every file that something of it was inlined from.
  callgrind_annotate --auto=no --threshold=99.9 "$folder/counts" | awk '
    function number(text) { gsub(/[,]/, "", text); return text }
    /PROGRAM TOTALS/ { total = number($1); next }
    total && /^ *[0-9,]+ \(/ {
      count = number($1)
      name = $0
      sub(/^[^)]*\) +/, "", name); sub(/^[^:]*:/, "", name); sub(/ \[[^]]*\]$/, "", name); sub(/ \([0-9,]+x\)/, "", name)
      of[name] += count
    }
    END {
      printf "%.1f million instructions\n", total / 1e6
      for (name in of) if (of[name] > 0.008 * total) printf "%5.1f %%  %s\n", 100 * of[name] / total, name
    }' | LC_ALL=C sort -k1,1nr -k3
} >"$folder/told"
cat "$folder/told"
of() { awk '/million/ { print $1; exit }' "$1"; }
if [ "${1:-}" = --keep ]; then
  cp "$folder/told" "$kept"
elif [ -f "$kept" ]; then
  awk -v now="$(of "$folder/told")" -v then="$(of "$kept")" 'BEGIN {
    change = 100 * (now / then - 1)
    printf "against %.1f million kept in benches/runs/instructions.txt: %+.1f %%\n", then, change
    exit change > 2 }'
fi
