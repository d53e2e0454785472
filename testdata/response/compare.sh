#!/usr/bin/env bash
# Time hopcard against spectra.py on the same ten-minute log of 200 Hz, in the same run: whole
# processes, from start to exit. hopcard reads the log and debriefs all of it, the response
# analysis being one part; it may take at most a fifth of the script's time. Needs a Python
# with NumPy, SciPy and pandas.
#
#   testdata/response/compare.sh [ROUNDS]
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
rounds=${1:-5}
python=${PYTHON:-/usr/bin/python3}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

(cd "$here/../.." && go build -o "$work/hopcard" ./cmd/hopcard)

milliseconds() {
	local from=$EPOCHREALTIME
	"$@" >"$work/out" 2>"$work/err" || { cat "$work/err" >&2; exit 1; }
	local to=$EPOCHREALTIME
	echo $(((${to/[.,]/} - ${from/[.,]/}) / 1000))
}

missed=0
for kind in "" wind; do
	"$python" "$here/../speed/generate.py" "$work/log.csv" $kind
	: >"$work/ratios"
	for ((i = 0; i <= rounds; i++)); do
		h=$(milliseconds "$work/hopcard" report "$work/log.csv" --format json)
		s=$(milliseconds "$python" "$here/spectra.py" "$work/log.csv")
		[ "$i" -gt 0 ] || continue # once beforehand, so that both find their files in memory
		echo $((1000 * h / s)) >>"$work/ratios"
		echo "${kind:-no wind}, round $i: hopcard $h ms, script $s ms"
	done
	median=$(sort -n "$work/ratios" | awk '{a[NR] = $1} END {print a[int((NR + 1) / 2)]}')
	echo "${kind:-no wind}: median ratio $(awk -v m="$median" 'BEGIN {printf "%.3f", m / 1000}') (bar 0.200)"
	[ "$median" -le 200 ] || missed=1
done
exit $missed
