#!/bin/sh
# Runs the test programs named behind the build folder and adds up what cmocka says.
# Prints "N passed, N failed" as its last line; exit status 1 when anything failed.
set -u
build=$1
shift
mkdir -p "$build"
passed=0
failed=0
bad=
for t in "$@"; do
    name=${t##*/tests/}
    log="$build/$(echo "$name" | tr / -).log"
    if "$t" >"$log" 2>&1; then status=0; else status=$?; fi
    p=$(grep -c '^\[       OK \]' "$log")
    f=$(grep -c '^\[  FAILED  \] [^0-9]' "$log")
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
        tail -40 "$log"
    else
        printf '%-44s %4d passed\n' "$name" "$p"
    fi
done
[ -n "$bad" ] && echo "failed:$bad"
echo "$passed passed, $failed failed"
[ "$failed" = 0 ] && [ "$passed" != 0 ]
