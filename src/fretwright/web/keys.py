"""Secrets: what is sent to a person and what is kept of it."""

import hashlib
import hmac
import os
import secrets
from pathlib import Path
from typing import Final

_NAME: Final = "secret.key"


def new_token() -> str:
    """256 random bits, fit for an address."""
    return secrets.token_urlsafe(32)


def digest(token: str) -> str:
    """What is stored of a token: enough to know it again, too little to make it."""
    return hashlib.sha256(token.encode()).hexdigest()


def school_key(home: Path) -> bytes:
    """The school's own secret, made at the first start and readable by nobody else."""
    path = home / _NAME
    try:
        return path.read_bytes()
    except FileNotFoundError:
        home.mkdir(parents=True, exist_ok=True)
        try:
            handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        except FileExistsError:  # another process was quicker
            return path.read_bytes()
        with os.fdopen(handle, "wb") as file:
            file.write(secrets.token_bytes(32))
            file.flush()
            os.fsync(file.fileno())
        return path.read_bytes()


def signature(key: bytes, purpose: str, words: str) -> str:
    """A word that only the school can make, for addresses that must work without signing in.

    A signature made for one purpose is worth nothing for another.
    """
    return hmac.new(key, f"{purpose}\0{words}".encode(), hashlib.sha256).hexdigest()


def is_signature(given: str, key: bytes, purpose: str, words: str) -> bool:
    """Whether a signature is the right one, in a time that does not tell how nearly."""
    return hmac.compare_digest(given.encode(), signature(key, purpose, words).encode())
