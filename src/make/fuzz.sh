#!/bin/sh
# fuzz.sh replay NAME...: every file of the corpora through its target once.
# fuzz.sh SECONDS NAME...: each target for so long; new inputs stay in build/fuzz/corpus.
set -u
what=$1
shift
bad=0
n=0
for name in "$@"; do
    target=build/fuzz/tests/fuzz/fuzz_$name
    corpus=tests/fuzz/corpus/$name
    mkdir -p "build/fuzz/corpus/$name"
    if [ "$what" = replay ]; then
        files=$(find "$corpus" -type f 2>/dev/null | wc -l)
        if [ "$files" = 0 ]; then
            echo "fuzz $name: no corpus in $corpus"
            bad=$((bad + 1))
            continue
        fi
        if "$target" -runs=0 -rss_limit_mb=4096 "$corpus" >"build/fuzz/$name.log" 2>&1; then
            echo "fuzz $name: $files files replayed"
            n=$((n + 1))
        else
            tail -30 "build/fuzz/$name.log"
            echo "fuzz $name: FAILED"
            bad=$((bad + 1))
        fi
    else
        echo "fuzz $name: $what s"
        "$target" -max_total_time="$what" -rss_limit_mb=4096 -timeout=20 -print_final_stats=1 \
            -artifact_prefix="build/fuzz/$name-" "build/fuzz/corpus/$name" "$corpus" \
            >"build/fuzz/$name.log" 2>&1 && n=$((n + 1)) || bad=$((bad + 1))
        grep -E 'stat::number_of_executed_units|SUMMARY|ERROR' "build/fuzz/$name.log"
    fi
done
echo "fuzz: $n passed, $bad failed"
[ "$bad" = 0 ]
