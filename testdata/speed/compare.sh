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
"$python" "$here/generate.py" "$work/log.csv"
echo "log: $(wc -l <"$work/log.csv") lines, $(wc -c <"$work/log.csv") bytes; $(nproc) cores, load $(cut -d' ' -f1 /proc/loadavg 2>/dev/null || echo unknown)"

# milliseconds COMMAND...: wall time of one run, its output thrown away.
milliseconds() {
	local from=$EPOCHREALTIME
	"$@" >"$work/out" 2>"$work/err" || { cat "$work/err" >&2; exit 1; }
	local to=$EPOCHREALTIME
	echo $(((${to/[.,]/} - ${from/[.,]/}) / 1000))
}

# Once each beforehand, so that both find their files in memory.
milliseconds "$work/hopcard" report "$work/log.csv" --format json >/dev/null
milliseconds "$python" "$here/spectra.py" "$work/log.csv" >/dev/null
for ((i = 1; i <= rounds; i++)); do
	h=$(milliseconds "$work/hopcard" report "$work/log.csv" --format json)
	s=$(milliseconds "$python" "$here/spectra.py" "$work/log.csv")
	echo "$h $s $((1000 * h / s))" | tee -a "$work/times" |
		awk -v i="$i" '{printf "round %d: hopcard %d ms, script %d ms, ratio %.3f\n", i, $1, $2, $3 / 1000}'
done
# The median of the ratios of each round: load on the machine hits both sides of a round.
median=$(awk '{print $3}' "$work/times" | sort -n | awk '{a[NR] = $1} END {print a[int((NR + 1) / 2)]}')
awk -v m="$median" 'BEGIN {printf "median ratio %.3f (bar 0.200)\n", m / 1000}'
[ "$median" -le 200 ]
