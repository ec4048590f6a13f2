#!/bin/sh
# The checks that read the code without running it; test.sh and the commit hooks share them.
# usage: sh deploy/lint.sh [format|style|types|imports]...   (all four when none is named)
set -u
. "$(dirname "$0")/environment.sh"
cd "$root" || exit 1

one() {
    case $1 in
        format) "$python" -m ruff format --check --output-format concise . ;;
        style) "$python" -m ruff check --output-format concise . ;;
        types) "$python" -m mypy ;;
        imports)
            "$python" -c 'from importlinter.cli import lint_imports_command as run; run()' --no-cache
            ;;
        *)
            echo "lint.sh: unknown check: $1 (format, style, types or imports)" >&2
            exit 2
            ;;
    esac
}

[ $# -gt 0 ] || set -- format style types imports
status=0
for check; do one "$check" || status=1; done
exit "$status"
