#!/usr/bin/env bash
# Time hopcard against the script of spectra.py on the same ten-minute log, in the same
# run: whole processes, from start to exit. hopcard reads the log, debriefs it and writes
# the JSON report; the script reads it and computes six cross spectra. hopcard may take
# at most a fifth of the script's time. Needs a Python with NumPy, SciPy and pandas.
#
#   testdata/speed/compare.sh [ROUNDS]
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
rounds=${1:-7}
python=${PYTHON:-/usr/bin/python3}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

(cd "$here/../.." && go build -o "$work/hopcard" ./cmd/hopcard)

# milliseconds COMMAND...: wall time of one run, its output thrown away.
milliseconds() {
	local from=$EPOCHREALTIME
	"$@" >"$work/out" 2>"$work/err" || { cat "$work/err" >&2; exit 1; }
	local to=$EPOCHREALTIME
	echo $(((${to/[.,]/} - ${from/[.,]/}) / 1000))
}

# compare NAME [ARGUMENT...]: all rounds on one log; fails if the bar is missed. The
# median is that of the ratios of each round: load on the machine hits both sides of it.
compare() {
	local name=$1 log=$work/log.csv h s i median
	"$python" "$here/generate.py" "$log" "${@:2}"
	echo "log $name: $(wc -l <"$log") lines, $(wc -c <"$log") bytes; $(nproc) cores, load $(cut -d' ' -f1 /proc/loadavg 2>/dev/null || echo unknown)"
	: >"$work/ratios"
	for ((i = 0; i <= rounds; i++)); do
		h=$(milliseconds "$work/hopcard" report "$log" --format json)
		s=$(milliseconds "$python" "$here/spectra.py" "$log")
		[ "$i" -gt 0 ] || continue # once beforehand, so that both find their files in memory
		echo $((1000 * h / s)) >>"$work/ratios"
		echo "round $i: hopcard $h ms, script $s ms, ratio $(awk -v h="$h" -v s="$s" 'BEGIN {printf "%.3f", h / s}')"
	done
	median=$(sort -n "$work/ratios" | awk '{a[NR] = $1} END {print a[int((NR + 1) / 2)]}')
	echo "log $name: median ratio $(awk -v m="$median" 'BEGIN {printf "%.3f", m / 1000}') (bar 0.200)"
	[ "$median" -le 200 ]
}

missed=0
compare "without wind" || missed=1
compare "with wind" wind || missed=1
exit $missed
