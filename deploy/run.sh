#!/bin/sh
# From a fresh checkout to a planned demo tour in the browser. Start it again whenever you like.
set -eu

usage() {
    cat <<'TEXT'
usage: sh deploy/run.sh [--plan-only]

Makes the Python environment, installs the locked packages, brings the database up to date, creates the
demo tour if it is not there, prints its readiness and serves the pages until Ctrl-C, with a worker for long
computations beside them.

  --plan-only      stop after printing the readiness

  SHOWPLAN_DATA    folder for the database, uploads and keys     (default: var in the checkout)
  SHOWPLAN_BIND    address to serve on, HOST:PORT or unix:PATH   (default: 127.0.0.1:8000)
  SHOWPLAN_VENV    folder of the Python environment              (default: .venv in the checkout)
TEXT
}

plan_only=no
for option; do
    case $option in
        --plan-only) plan_only=yes ;;
        -h | --help) usage; exit 0 ;;
        *)
            echo "run.sh: unknown option: $option" >&2
            usage >&2
            exit 2
            ;;
    esac
done

. "$(dirname "$0")/environment.sh"

bind=${SHOWPLAN_BIND:-127.0.0.1:8000}
SHOWPLAN_DATA=${SHOWPLAN_DATA:-$root/var}
case $SHOWPLAN_DATA in
    /*) ;;
    *) SHOWPLAN_DATA=$PWD/$SHOWPLAN_DATA ;;
esac
export SHOWPLAN_DATA

manage() {
    "$python" "$root/manage.py" "$@" || fail "manage.py $1 did not succeed; its own words are above."
}

make_data_folder() {
    [ -d "$SHOWPLAN_DATA" ] || mkdir -p -m 700 "$SHOWPLAN_DATA" ||
        fail "cannot make the data folder $SHOWPLAN_DATA; set SHOWPLAN_DATA to a folder you may write to."
    [ -w "$SHOWPLAN_DATA" ] ||
        fail "the data folder $SHOWPLAN_DATA is not writable for $(id -un); set SHOWPLAN_DATA to another."
}

# Collecting compresses every file anew, so only when a file or a package has changed since.
collect_static() {
    collected=$SHOWPLAN_DATA/static/staticfiles.json
    if [ -f "$collected" ] && [ -z "$(find "$venv/locked-run" "$root/frontend/static" "$root/api/static" \
        "$root/showplan/settings.py" -newer "$collected" | head -n 1)" ]; then
        return 0
    fi
    say "Collecting the pages' scripts, styles and pictures"
    manage collectstatic --noinput --verbosity 0
}

make_venv
if [ "$plan_only" = no ]; then
    "$python" "$root/deploy/address_is_free.py" "$bind" || exit 1
fi
install_locked run
compile_ahead
make_data_folder
cd "$root"
say "Bringing the database up to date (data folder: $SHOWPLAN_DATA)"
manage migrate --noinput --verbosity 0
collect_static
say "Making sure that the demo tour is there"
sign_in=$(manage demo)
printf '%s\n' "$sign_in"
say "Planning the demo tour"
manage readiness
if [ "$plan_only" = yes ]; then exit 0; fi

say "Serving at $(case $bind in unix:*) echo "$bind" ;; *) echo "http://$bind/" ;; esac)  (Ctrl-C stops it)"
printf '%s\n' "$sign_in"
# The server takes this process's place, so the worker sees its parent end when the server does, and leaves too.
"$python" "$root/manage.py" worker --beside $$ &
exec "$python" -m gunicorn showplan.wsgi --bind "$bind" --workers 2 --timeout 120 --no-control-socket
