#!/bin/sh
# Everything that must hold before a change is kept: the same environment as run.sh plus the test packages,
# a real browser, the whole test-suite on SQLite, and what may differ there again on a throw-away PostgreSQL.
set -eu

usage() {
    cat <<'TEXT'
usage: sh deploy/test.sh [--quick] [PYTEST ARGUMENT...]

  --quick            no browser tests, SQLite only

  SHOWPLAN_CHROMIUM  the browser to use   (default: chromium, chromium-browser or google-chrome)
TEXT
}

quick=no
for argument; do
    shift
    case $argument in
        --quick) quick=yes ;;
        -h | --help) usage; exit 0 ;;
        *) set -- "$@" "$argument" ;;
    esac
done

. "$(dirname "$0")/environment.sh"

look_for_chromium() {
    for candidate in chromium chromium-browser google-chrome google-chrome-stable; do
        if SHOWPLAN_CHROMIUM=$(command -v "$candidate"); then return 0; fi
    done
    SHOWPLAN_CHROMIUM=
    return 1
}

require_chromium() {
    if [ -n "${SHOWPLAN_CHROMIUM:-}" ]; then
        [ -x "$SHOWPLAN_CHROMIUM" ] ||
            fail "SHOWPLAN_CHROMIUM is $SHOWPLAN_CHROMIUM, which is no program; give the browser's full path."
    elif ! look_for_chromium; then
        if is_root; then apt_install chromium || true; fi
        look_for_chromium ||
            fail "no Chromium found. Install the package chromium (as root: apt-get install chromium)," \
                "or set SHOWPLAN_CHROMIUM to a browser's full path, or run: sh deploy/test.sh --quick"
    fi
    export SHOWPLAN_CHROMIUM
    say "Browser: $SHOWPLAN_CHROMIUM"
}

# The tests on power ask this circuit simulator for a second opinion.
require_ngspice() {
    if ! command -v ngspice >/dev/null; then
        if is_root; then apt_install ngspice || true; fi
        command -v ngspice >/dev/null ||
            fail "no ngspice found. Install the package ngspice (as root: apt-get install ngspice)."
    fi
}

passed=0
failed=
step() {
    title=$1
    shift
    say "$title"
    if "$@"; then
        passed=$((passed + 1))
    else
        failed="$failed${failed:+, }$title"
    fi
}

# The checks that run no test, and compiling, use one core each: they run side by side, and what the checks had to say is
# kept until their turn comes.
keep() {
    record=$SHOWPLAN_DATA/$1
    shift
    "$@" >"$record.words" 2>&1 && status=0 || status=$?
    echo "$status" >"$record.status"
}
kept() {
    cat "$SHOWPLAN_DATA/$1.words"
    return "$(cat "$SHOWPLAN_DATA/$1.status")"
}
check_without_tests() {
    for check in format style types imports; do keep "$check" sh deploy/lint.sh "$check"; done
    keep migrations "$python" manage.py makemigrations --check --dry-run
    keep system "$python" manage.py check --fail-level WARNING
}

make_venv
install_locked test
require_ngspice
[ "$quick" = yes ] || require_chromium

# The tests get a data folder of their own and none of the settings of a running service.
cd "$root"
unset SHOWPLAN_DATABASE_URL SHOWPLAN_SECRET_KEY SHOWPLAN_ALLOWED_HOSTS SHOWPLAN_TRUSTED_ORIGINS SHOWPLAN_DEBUG
# Tests start many processes, which would each compile every module anew.
unset PYTHONDONTWRITEBYTECODE
SHOWPLAN_DATA=$(mktemp -d "${TMPDIR:-/tmp}/showplan-test-XXXXXX")
export SHOWPLAN_DATA
trap 'rm -rf "$SHOWPLAN_DATA"' EXIT
trap 'exit 130' INT
trap 'exit 143' TERM HUP

say "Format, style, types, imports, migrations and system checks, beside the next step"
check_without_tests &
checking=$!
compile_ahead
wait "$checking"
step "Format" kept format
step "Style" kept style
step "Types" kept types
step "Imports" kept imports
step "Migrations" kept migrations
step "System checks" kept system
if [ "$quick" = yes ]; then
    step "Tests on SQLite, no browser" "$python" -m pytest -n 2 --dist worksteal -m "not browser" "$@"
else
    step "Tests on SQLite" "$python" -m pytest -n 2 --dist worksteal "$@"
    step "Tests on PostgreSQL" "$python" -m tests.throwaway_postgres \
        "$python" -m pytest -n 2 --dist worksteal --second-database "$@"
fi

if [ -n "$failed" ]; then
    echo "FAILED: $failed ($passed other steps passed)"
    exit 1
fi
echo "PASSED: all $passed steps"
