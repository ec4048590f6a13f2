# Read by run.sh and test.sh with the dot command; not to be run alone. Plain POSIX sh.
#
# Gives: root (the checkout), python (of the environment), and the functions below.
# Each function says what it does and ends the script with status 1 when it cannot.

root=$(cd "$(dirname "$0")/.." && pwd)
venv=${SHOWPLAN_VENV:-$root/.venv}
python=$venv/bin/python

say() { printf '%s\n' "== $*"; }
fail() {
    printf '%s\n' "$(basename "$0"): $*" >&2
    exit 1
}

is_root() { [ "$(id -u)" -eq 0 ]; }

recent_enough() {
    "$1" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1
}

# Debian's packages, with whatever they need: apt_install PACKAGE...
apt_install() {
    command -v apt-get >/dev/null || return 1
    say "Installing system packages: $*"
    DEBIAN_FRONTEND=noninteractive apt-get update -qq &&
        DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$@"
}

look_for_python() {
    system_python=
    for candidate in python3 python3.13 python3.12 python3.11 /usr/bin/python3; do
        if recent_enough "$candidate"; then
            system_python=$candidate
            return 0
        fi
    done
    return 1
}

find_python() {
    if ! look_for_python && is_root; then
        apt_install python3 python3-venv || true
        look_for_python || true
    fi
    [ -n "$system_python" ] ||
        fail "no Python 3.11 or newer found. Install the packages python3 and python3-venv" \
            "(Debian 12, Ubuntu 24.04 or newer), or python3.11 and python3.11-venv."
}

# Debian keeps the part of Python that makes environments in a package of its own.
require_venv_module() {
    if ! "$system_python" -c 'import ensurepip, venv' >/dev/null 2>&1; then
        package=$("$system_python" -c 'import sys; print("python%d.%d-venv" % sys.version_info[:2])')
        if is_root; then apt_install "$package" || true; fi
        "$system_python" -c 'import ensurepip, venv' >/dev/null 2>&1 ||
            fail "$system_python cannot make environments. Install the package $package" \
                "(as root: apt-get install $package) and start again."
    fi
}

make_venv() {
    if recent_enough "$python"; then return 0; fi
    find_python
    require_venv_module
    say "Making the Python environment in $venv with $("$system_python" --version)"
    "$system_python" -m venv --clear "$venv" || fail "could not make the environment in $venv"
}

checksum() { sha256sum "$1" | cut -d ' ' -f 1; }

# The name of a set is its stamp: the checksum of the lock file that was installed last.
installed() { [ "$(cat "$venv/locked-$1" 2>/dev/null)" = "$2" ]; }

# install_locked run|test: the exact versions and file hashes of the lock file, only when it has changed.
install_locked() {
    case $1 in
        run) lock=$root/deploy/requirements.txt ;;
        test) lock=$root/deploy/requirements-test.txt ;;
    esac
    sum=$(checksum "$lock")
    if installed "$1" "$sum"; then
        say "Python packages are as locked ($(basename "$lock"))"
        return 0
    fi
    say "Installing the Python packages of $(basename "$lock"); the first time takes a minute or two"
    if ! "$python" -m pip install --quiet --disable-pip-version-check --no-input \
        --only-binary :all: --require-hashes --requirement "$lock"; then
        "$python" "$root/deploy/missing_packages.py" "$lock" >&2 || true
        fail "the packages could not be installed (pip's own words are above). Is the network up," \
            "and may this machine reach a Python package index? Start again: what is there is kept."
    fi
    printf '%s\n' "$sum" >"$venv/locked-$1"
    # The test set contains the run set in the same versions (deploy/lock.sh sees to it).
    if [ "$1" = test ]; then checksum "$root/deploy/requirements.txt" >"$venv/locked-run"; fi
}

# Wall losses, relay search and packet simulation as machine code, kept in the environment; no work while neither they
# nor numba have changed. Without it everything runs: every process that needs it then compiles it when it starts.
compile_ahead() {
    say "Making sure that wall losses, relay search and packet simulation are compiled; the first time takes a minute or two"
    (cd "$root" && "$python" -m showplan.planner.warm) ||
        say "They could not be compiled ahead (words above); each process will compile what it needs"
}
