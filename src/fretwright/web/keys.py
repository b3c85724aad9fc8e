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
    if not path.exists():
        keep_key(home, secrets.token_bytes(32))
    return path.read_bytes()


def keep_key(home: Path, key: bytes) -> None:
    """Store a secret, unless another process was quicker: a key never changes once it is there."""
    home.mkdir(parents=True, exist_ok=True)
    part = home / f"{_NAME}.{secrets.token_hex(4)}"
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(key)
        file.flush()
        os.fsync(file.fileno())
    try:
        os.link(part, home / _NAME)  # unlike a rename, this fails where there is one
    except FileExistsError:
        pass
    finally:
        part.unlink()


def signature(key: bytes, purpose: str, words: str) -> str:
    """A word that only the school can make, for addresses that must work without signing in.

    A signature made for one purpose is worth nothing for another.
    """
    return hmac.new(key, f"{purpose}\0{words}".encode(), hashlib.sha256).hexdigest()


def is_signature(given: str, key: bytes, purpose: str, words: str) -> bool:
    """Whether a signature is the right one, in a time that does not tell how nearly."""
    return hmac.compare_digest(given.encode(), signature(key, purpose, words).encode())
