#!/bin/sh
# Runs the test programs named behind the build folder, as many at once as there are cores, those that take longest
# first, and adds up what cmocka says. Prints "N passed, N failed" as its last line; exit status 1 when anything failed.
set -u
build=$1
shift
mkdir -p "$build"
LSAN_OPTIONS=suppressions=$(pwd)/src/make/lsan.supp:print_suppressions=0 # of a build with SAN=address
# Freed memory is watched until 16 MB more are freed; with the usual 256 each block is cleared anew by the system. What is undefined is a trap.
ASAN_OPTIONS=quarantine_size_mb=16:handle_sigill=1
export LSAN_OPTIONS ASAN_OPTIONS

log_of() {
    echo "$build/$(echo "${1##*/tests/}" | tr / -)"
}

# How long a test takes: the processor's time of the last run; before the first, as they are known to be long.
long="app/test_photo_journeys app/test_journeys app/test_measure cli/test_measure reading/test_same gauge/test_gauge_find app/test_desk cli/test_pitch app/test_fits"
length_of() {
    if [ -s "$(log_of "$1").times" ]; then
        awk -F '[ ms]+' 'NR == 2 { printf "%d\n", 60 * ($1 + $3) + $2 + $4 }' "$(log_of "$1").times"
    else
        k=10000
        for t in $long; do
            case "$1" in */"$t") echo $k && return ;; esac
            k=$((k - 1))
        done
        echo 0
    fi
}

# what a run leaves: NAME.log with its words, NAME.status with its exit status, NAME.times with the processor's time
for t in "$@"; do
    rm -f "$(log_of "$t").status"
    echo "$(length_of "$t") $t"
done | sort -s -k 1,1nr | while read -r _ t; do
    printf '%s\n%s\n' "$t" "$(log_of "$t")"
done | xargs -n 2 -P "$(nproc)" sh -c '"$1" >"$2.log" 2>&1; echo $? >"$2.status"; times >"$2.times"' run-one

passed=0
failed=0
bad=
for t in "$@"; do
    name=${t##*/tests/}
    log=$(log_of "$t")
    status=$(cat "$log.status" 2>/dev/null || echo 255)
    p=$(grep -c '^\[       OK \]' "$log.log")
    f=$(grep -c '^\[  FAILED  \] [^0-9]' "$log.log")
    # cmocka repeats each failed name in its summary
    f=$(((f + 1) / 2))
    if [ "$status" != 0 ] && [ "$f" = 0 ]; then f=1; fi
    if [ "$status" = 0 ] && [ "$p" = 0 ]; then
        echo "$name ran no test"
        f=1
    fi
    passed=$((passed + p))
    failed=$((failed + f))
    if [ "$f" != 0 ]; then
        bad="$bad $name"
        echo "--- $name (exit $status)"
        tail -40 "$log.log"
    else
        printf '%-44s %4d passed\n' "$name" "$p"
    fi
done
[ -n "$bad" ] && echo "failed:$bad"
echo "$passed passed, $failed failed"
[ "$failed" = 0 ] && [ "$passed" != 0 ]
