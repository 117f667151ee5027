#!/bin/sh
# Builds Beadline with AddressSanitizer, UndefinedBehaviorSanitizer and line coverage, and runs every
# test. With --servers also those that need real servers (a mail server from Debian's packages, on
# loopback, in a folder of its own); without it no mail server is installed or touched.
set -eu
top=$(CDPATH= cd -- "$(dirname -- "$0")/.." && pwd)
. "$top/tests/need.sh"

servers=no
for word in "$@"; do
    case $word in
    --servers) servers=yes ;;
    *) echo "usage: sh tests/run.sh [--servers]" >&2; exit 2 ;;
    esac
done

need $BUILD_PACKAGES gcovr perl openssl strace python3-phonenumbers r-base-core r-cran-survival
if [ $servers = yes ]; then
    need debconf
    if ! dpkg-query -W -f='${Status}' postfix 2>/dev/null | grep -q '^install ok'; then
        if [ "$(id -u)" -eq 0 ]; then as_root=; else as_root=sudo; fi
        echo "postfix postfix/main_mailer_type select No configuration" |
            $as_root debconf-set-selections
    fi
    need postfix dovecot-core
fi

build=$top/build-tests
cmake -S "$top" -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Debug -DBL_SANITIZE=ON -DBL_COVERAGE=ON \
    -DBL_WERROR=ON >"$build.log" 2>&1 || { cat "$build.log" >&2; exit 1; }
cmake --build "$build" >"$build.log" 2>&1 || { cat "$build.log" >&2; exit 1; }
rm -f "$build.log"
find "$build" -name '*.gcda' -delete

set -- --output-on-failure -j 2
[ $servers = yes ] || set -- "$@" -LE servers
status=0
log=$build/ctest.log
{ ctest --test-dir "$build" "$@" || echo failed >"$build/ctest.failed"; } 2>&1 | tee "$log"
[ ! -e "$build/ctest.failed" ] || { rm -f "$build/ctest.failed"; status=1; }

echo
echo "Line coverage of daemon/ and cli/ (percent):"
gcovr --root "$top" --filter "$top/daemon/" --filter "$top/cli/" --object-directory "$build" \
    --gcov-ignore-parse-errors --exclude-unreachable-branches --json-summary \
    "$build/coverage.json" "$build" >/dev/null 2>"$build/gcovr.log" || cat "$build/gcovr.log" >&2
python3 "$top/tests/coverage.py" "$build/coverage.json" 85 || status=1

# The test runner's own closing lines come last.
echo
sed -n '/tests passed,/,$p' "$log"
exit $status
