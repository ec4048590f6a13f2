"""Secrets that are shown once: made here, stored as keyed hashes (the key is the server's secret key)."""

import hashlib
import secrets

from django.utils.crypto import constant_time_compare, salted_hmac

SECRET_BYTES = 32


def new_secret() -> str:
    """A fresh secret for a link or a token, 256 bits."""
    return secrets.token_urlsafe(SECRET_BYTES)


def hash_of(secret: str) -> str:
    """64 hexadecimal digits that say nothing of the secret to whoever reads the database alone."""
    return salted_hmac("showplan.services.secrets", secret, algorithm="sha256").hexdigest()


def matches(secret: str, stored: str) -> bool:
    """Whether a secret is the one behind a stored hash, in constant time."""
    return constant_time_compare(hash_of(secret), stored)


def fingerprint_of(body: bytes) -> str:
    """SHA-256 of a request's body, to tell a repeat from another call."""
    return hashlib.sha256(body).hexdigest()
