"""Say whether a server could listen on HOST:PORT: python address_is_free.py HOST:PORT, status 0 or 1."""

import errno
import socket
import sys


def why_not(address: str) -> str | None:
    """Return None when HOST:PORT (or [IPv6]:PORT, or unix:PATH) can be listened on, else the reason."""
    if address.startswith("unix:"):
        return None  # a left-over socket file is replaced by the server
    host, _, port = address.rpartition(":")
    if not host or not port.isdecimal() or not 0 < int(port) < 65536:
        return f"{address} is no HOST:PORT; right would be 127.0.0.1:8000"
    host = host.strip("[]")
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family) as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((host, int(port)))
        except OSError as problem:
            if problem.errno == errno.EADDRINUSE:
                return (
                    f"port {port} on {host} is already in use, perhaps by a server started earlier. "
                    f"Stop that one, or choose another port: SHOWPLAN_BIND={host}:{int(port) + 1}"
                )
            return f"cannot listen on {address}: {problem.strerror}; set SHOWPLAN_BIND to another HOST:PORT"
    return None


if __name__ == "__main__":
    reason = why_not(sys.argv[1])
    if reason is not None:
        sys.exit(f"run.sh: {reason}")
