#!/bin/sh
# The checks beyond `make test`. check.sh runs all parts, check.sh NAME... only those. Parts run beside each other in lanes, since
# most keep one core busy only; those with a real window come last and alone. What they say comes in the order of $parts.
# Each check prints "check NAME: ok" or "check NAME: FAILED" behind what it has to show; the last line is the sum.
set -u
cd "$(dirname "$0")/../.."

ok() { echo "check $1: ok${2:+ ($2)}"; }
bad() { echo "check $1: FAILED${2:+ ($2)}"; }

part_headers() { # every header compiles alone, with its own includes only
    flags=$(pkg-config --cflags sdl2 SDL2_ttf sqlite3)
    n=$(find src -name '*.h' | wc -l)
    # shellcheck disable=SC2086
    if find src -name '*.h' | LC_ALL=C sort | xargs -n 1 -P 2 cc -std=c11 -Isrc -D_POSIX_C_SOURCE=200809L -D_DEFAULT_SOURCE \
        $flags -Wall -Wextra -Werror -fsyntax-only -Wno-unused-function -x c; then
        ok headers "$n headers"
    else
        bad headers
    fi
}

part_tables() { # no unfinished places
    if grep -rnE '\b(TODO|FIXME|XXX|HACK)\b' --include='*.[ch]' src; then bad unfinished; else ok unfinished; fi
}

part_warnings() { # neither compiler warns of anything
    n=$(find src tests -name '*.c' -path '*/*/*' | wc -l)
    said=$(find build/src build/tests -name '*.said' -size +0)
    if [ "$(find build/src -name '*.said' | wc -l)" -lt "$(find src -name '*.c' | wc -l)" ]; then
        bad gcc "not all of src was compiled in build"
    elif [ -n "$said" ]; then
        # shellcheck disable=SC2086
        cat $said
        bad gcc
    else
        ok gcc "the build warned of nothing in $n files"
    fi
    if make -s CC=clang WERROR=1 looked-over; then ok clang; else bad clang; fi
}

part_asan() { # the whole suite under AddressSanitizer and UndefinedBehaviorSanitizer
    if make -s -j2 SAN=address,undefined test-run >build/asan.log 2>&1; then
        ok asan+ubsan "$(tail -1 build/asan.log)"
    else
        tail -60 build/asan.log
        bad asan+ubsan
    fi
}

part_tsan() { # what uses threads under ThreadSanitizer
    tests=$(grep -lE 'pthread_create|SDL_CreateThread|check-with: threads' tests/*/test_*.c 2>/dev/null |
        sed 's,^tests/\(.*\)\.c$,build/san-thread/tests/\1,')
    if [ -z "$tests" ]; then bad tsan "no test uses threads"; return; fi
    # shellcheck disable=SC2086
    if make -s SAN=thread $tests >build/tsan.log 2>&1 &&
        sh src/make/run-tests.sh build/san-thread $tests >>build/tsan.log 2>&1; then
        ok tsan "$(tail -1 build/tsan.log)"
    else
        tail -60 build/tsan.log
        bad tsan
    fi
}

part_valgrind() { # the layers without a window, under memcheck
    n=0
    for t in build/tests/base/test_* build/tests/engine/test_* build/tests/record/test_* \
        build/tests/casefile/test_*; do
        case "$t" in *.o | *.d | *.said) continue ;; esac
        [ -x "$t" ] || continue
        if ! valgrind -q --error-exitcode=9 --leak-check=full \
            --errors-for-leak-kinds=definite "$t" >build/valgrind.log 2>&1; then
            tail -30 build/valgrind.log
            bad valgrind "$t"
            return
        fi
        n=$((n + 1))
    done
    if [ "$n" != 0 ]; then ok valgrind "$n test programs"; else bad valgrind "nothing to run"; fi
}

part_static() { # ctuuninitvar takes what a function is there to fill for something it reads;
    # missingReturn does not know cJSON's loop macro, and both compilers check that anyway
    if cppcheck --quiet --std=c11 --enable=warning,portability --inline-suppr --error-exitcode=1 \
        --suppress=missingIncludeSystem \
        --suppress=ctuuninitvar --suppress=missingReturn -Isrc -D_POSIX_C_SOURCE=200809L src 2>build/cppcheck.log; then
        ok cppcheck
    else
        tail -20 build/cppcheck.log
        bad cppcheck
    fi
}

part_fuzz() { # the corpora once through their targets
    if make -s fuzz-replay >build/fuzz.log 2>&1; then
        ok fuzz-corpus "$(tail -1 build/fuzz.log)"
    else
        tail -30 build/fuzz.log
        bad fuzz-corpus
    fi
}

outside() { # tests/check/check_NAME.sh, which compare with other programs or act from outside
    for s in "$@"; do
        name=$(basename "$s" .sh)
        if SOOTBOOK=$(pwd)/build/sootbook sh "$s" >"build/$name.log" 2>&1; then
            ok "${name#check_}" "$(tail -1 "build/$name.log")"
        else
            tail -30 "build/$name.log"
            bad "${name#check_}"
        fi
    done
}

# shellcheck disable=SC2046
part_outside() { # those that need neither a window's screen nor the sanitizers' build
    outside $(grep -LE 'display\.sh"|san-address' tests/check/check_*.sh)
}

# shellcheck disable=SC2046
part_sanitized() { # with the build of part_asan
    outside $(grep -l 'san-address' tests/check/check_*.sh)
}

# shellcheck disable=SC2046
part_window() { # the real window, driven by key and pointer: alone, as at a person's desk
    outside $(grep -l 'display\.sh"' tests/check/check_*.sh)
}

parts="headers tables warnings asan sanitized tsan valgrind static fuzz outside window"

one() { # PART: what it says to build/check/PART
    start=$(date +%s)
    "part_$1" >"build/check/$1.new" 2>&1
    grep -qE '^check [^ ]+: (ok|FAILED)' "build/check/$1.new" || bad "$1" "ended without a word" >>"build/check/$1.new"
    echo "  ($1 took $(($(date +%s) - start)) s)" >>"build/check/$1.new"
    mv "build/check/$1.new" "build/check/$1"
}

lane() { # PART...: one after the other, those of them that are wanted
    for p in "$@"; do
        case " $wanted " in *" $p "*) one "$p" ;; esac
    done
}

trap 'trap - INT; kill 0' INT # lanes would go on
rm -rf build/check build/check.ended
mkdir -p build/check
make -s -j2 tests-built || exit 1
wanted=${*:-$parts}
for p in $wanted; do
    case " $parts " in *" $p "*) ;; *) echo "check: there is no part $p; there are $parts" && exit 2 ;; esac
done
{
    lane asan sanitized &
    lane tsan outside &
    lane headers tables warnings static fuzz valgrind &
    wait
    lane window
    : >build/check.ended
} &
for p in $parts; do
    case " $wanted " in *" $p "*) ;; *) continue ;; esac
    while [ ! -e "build/check/$p" ] && [ ! -e build/check.ended ]; do sleep 1; done
    [ -e "build/check/$p" ] || bad "$p" "did not end" >"build/check/$p"
    cat "build/check/$p"
done
wait
passed=$(cat build/check/* | grep -cE '^check [^ ]+: ok')
failed=$(cat build/check/* | grep -cE '^check [^ ]+: FAILED')
echo "checks: $passed passed, $failed failed"
[ "$failed" = 0 ] && [ "$passed" != 0 ]
