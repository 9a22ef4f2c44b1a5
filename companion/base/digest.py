"""SHA-256 and BLAKE2b as Python itself has them.

They are those of `hashlib`, which loads OpenSSL before it gives them: 4 ms of a walk's start.
"""

try:
    from _blake2 import blake2b
except ImportError:  # a Python may be built without its own
    from hashlib import blake2b

try:
    from _sha256 import sha256  # type: ignore[import-not-found]
except ImportError:
    try:
        from _sha2 import sha256  # type: ignore[import-not-found] # where 3.12 has it
    except ImportError:
        from hashlib import sha256

__all__ = ["blake2b", "sha256"]
