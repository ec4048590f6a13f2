#!/bin/sh
# Re-makes deploy/requirements.txt and deploy/requirements-test.txt from pyproject.toml.
# Versions stay as they are unless asked for: sh deploy/lock.sh --upgrade, or --upgrade-package NAME.
# Needs uv, on the path or in the environment, and the network.
set -eu
cd "$(dirname "$0")/.."

uv=$(command -v uv || true)
if [ -x .venv/bin/uv ]; then uv=.venv/bin/uv; fi
[ -n "$uv" ] || { echo "lock.sh: uv is missing; install it with: .venv/bin/python -m pip install uv" >&2; exit 1; }

# No configuration, index or folder of this machine may get into the files, or decide what is in them.
for name in $(env | sed -n 's/^\(UV_[A-Z_]*\)=.*/\1/p'); do unset "$name"; done

# One version of each package for every Python (fewest forks): the same plan must give the same numbers.
compile() {
    "$uv" pip compile --quiet --no-config --no-python-downloads --universal --fork-strategy fewest \
        --python-version 3.11 --generate-hashes --no-emit-index-url --no-emit-find-links \
        --custom-compile-command 'sh deploy/lock.sh' "$@"
}

# The larger set decides the versions; the smaller one takes them from there.
compile pyproject.toml --extra test --output-file deploy/requirements-test.txt "$@"
compile pyproject.toml --constraint deploy/requirements-test.txt --output-file deploy/requirements.txt

for lock in deploy/requirements.txt deploy/requirements-test.txt; do
    if grep -nE '://|@ |--(extra-)?index-url|--find-links|/(home|root|opt|tmp|usr|work)/' "$lock"; then
        echo "lock.sh: $lock carries an address or a path (lines above)" >&2
        exit 1
    fi
done

# Every package must come as a wheel for each Python and processor that we promise, because
# run.sh installs wheels only: a machine on tour has no compiler.
for version in 3.11 3.12 3.13; do
    for processor in x86_64 aarch64; do
        "$uv" pip compile --quiet --no-config --no-python-downloads --no-deps --only-binary :all: \
            --python-version "$version" --python-platform "$processor-manylinux_2_28" deploy/requirements-test.txt >/dev/null ||
            { echo "lock.sh: no wheels for Python $version on $processor (message above)" >&2; exit 1; }
        echo "wheels complete: Python $version on $processor"
    done
done
