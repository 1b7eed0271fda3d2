#!/bin/sh
# The checks beyond `make test`. check.sh runs all parts, check.sh NAME... only those.
# Each part prints a line "part: ... N passed, M failed"; the last line is the sum.
set -u
cd "$(dirname "$0")/../.."
passed=0
failed=0

ok() { passed=$((passed + 1)); echo "check $1: ok${2:+ ($2)}"; }
bad() { failed=$((failed + 1)); echo "check $1: FAILED${2:+ ($2)}"; }

part_headers() { # every header compiles alone, with its own includes only
    n=0
    for h in $(find src -name '*.h' | LC_ALL=C sort); do
        if ! cc -std=c11 -Isrc -D_POSIX_C_SOURCE=200809L -D_DEFAULT_SOURCE \
            $(pkg-config --cflags sdl2 SDL2_ttf sqlite3) -Wall -Wextra -Werror -fsyntax-only \
            -Wno-unused-function -x c "$h"; then
            bad headers "$h"
            return
        fi
        n=$((n + 1))
    done
    ok headers "$n headers"
}

part_tables() { # no unfinished places, no machine paths
    if grep -rnE '\b(TODO|FIXME|XXX|HACK)\b' --include='*.[ch]' src; then bad unfinished; else ok unfinished; fi
}

part_warnings() { # a build with every warning an error, by both compilers
    if make -s BUILD=build/werror WERROR=1 build/werror/sootbook >build/werror.log 2>&1; then
        ok gcc-werror
    else
        tail -20 build/werror.log; bad gcc-werror
    fi
    if make -s CC=clang BUILD=build/clang WERROR=1 build/clang/sootbook >build/clang.log 2>&1; then
        ok clang-werror
    else
        tail -20 build/clang.log; bad clang-werror
    fi
}

part_asan() { # the whole suite under AddressSanitizer and UndefinedBehaviorSanitizer
    if make -s -j2 SAN=address,undefined test-run >build/asan.log 2>&1; then
        ok asan+ubsan "$(tail -1 build/asan.log)"
    else
        tail -60 build/asan.log; bad asan+ubsan
    fi
}

part_tsan() { # what uses threads under ThreadSanitizer
    tests=$(grep -lE 'pthread_create|SDL_CreateThread|check-with: threads' tests/*/test_*.c 2>/dev/null |
        sed 's,^tests/\(.*\)\.c$,build/san-thread/tests/\1,')
    if [ -z "$tests" ]; then bad tsan "no test uses threads"; return; fi
    # shellcheck disable=SC2086
    if make -s -j2 SAN=thread build/san-thread/sootbook $tests >build/tsan.log 2>&1 &&
        SOOTBOOK=$(pwd)/build/san-thread/sootbook sh src/make/run-tests.sh build/san-thread $tests \
            >>build/tsan.log 2>&1; then
        ok tsan "$(tail -1 build/tsan.log)"
    else
        tail -60 build/tsan.log; bad tsan
    fi
}

part_valgrind() { # the layers without a window, under memcheck
    n=0
    for t in build/tests/base/test_* build/tests/engine/test_* build/tests/record/test_* \
        build/tests/casefile/test_*; do
        case "$t" in *.o | *.d) continue ;; esac
        [ -x "$t" ] || continue
        if ! CMOCKA_SKIP_SLOW=1 valgrind -q --error-exitcode=9 --leak-check=full \
            --errors-for-leak-kinds=definite "$t" >build/valgrind.log 2>&1; then
            tail -30 build/valgrind.log; bad valgrind "$t"
            return
        fi
        n=$((n + 1))
    done
    [ "$n" != 0 ] && ok valgrind "$n test programs" || bad valgrind "nothing to run"
}

part_static() { # ctuuninitvar takes what a function is there to fill for something it reads;
    # missingReturn does not know cJSON's loop macro, and both compilers check that anyway
    if cppcheck --quiet --std=c11 --enable=warning,portability --inline-suppr --error-exitcode=1 \
        --suppress=missingIncludeSystem \
        --suppress=ctuuninitvar --suppress=missingReturn -Isrc -D_POSIX_C_SOURCE=200809L src 2>build/cppcheck.log; then
        ok cppcheck
    else
        tail -20 build/cppcheck.log; bad cppcheck
    fi
}

part_fuzz() { # the corpora once through their targets
    if make -s fuzz-replay >build/fuzz.log 2>&1; then
        ok fuzz-corpus "$(tail -1 build/fuzz.log)"
    else
        tail -30 build/fuzz.log; bad fuzz-corpus
    fi
}

part_outside() { # scripts that compare with other programs: tests/outside-checks/check_*.sh
    for s in tests/check/check_*.sh; do
        [ -e "$s" ] || continue
        name=$(basename "$s" .sh)
        if SOOTBOOK=$(pwd)/build/sootbook sh "$s" >"build/$name.log" 2>&1; then
            ok "${name#check_}" "$(tail -1 "build/$name.log")"
        else
            tail -30 "build/$name.log"; bad "${name#check_}"
        fi
    done
}

mkdir -p build
make -s -j2 build || exit 1
[ $# -gt 0 ] || set -- headers tables warnings asan tsan valgrind static fuzz outside
for p in "$@"; do
    start=$(date +%s)
    "part_$p"
    echo "  ($p took $(($(date +%s) - start)) s)"
done
echo "checks: $passed passed, $failed failed"
[ "$failed" = 0 ]
