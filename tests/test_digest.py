"""Digests held to hashlib's, and to the examples of their standards."""

import hashlib
import runpy
import sys

import pytest

from companion.base import digest


def test_they_are_those_of_the_standards() -> None:
    """FIPS 180-4, whose example of one block is "abc"; RFC 7693, appendix A: BLAKE2b of "abc"."""
    assert digest.sha256(b"abc").hexdigest().startswith("ba7816bf8f01cfea414140de5dae2223")
    assert digest.blake2b(b"abc").hexdigest().startswith("ba80a53f981c4d0d6a2797b69f12f6e9")
    assert (
        digest.blake2b(b"a", digest_size=8).digest()
        == hashlib.blake2b(b"a", digest_size=8).digest()
    )


def test_a_python_without_its_own_takes_those_of_hashlib(monkeypatch: pytest.MonkeyPatch) -> None:
    """Some systems build theirs so."""
    for name in ("_blake2", "_sha256", "_sha2"):
        monkeypatch.setitem(sys.modules, name, None)
    monkeypatch.delitem(sys.modules, digest.__name__)
    bare = runpy.run_module(digest.__name__)
    assert (bare["sha256"], bare["blake2b"]) == (hashlib.sha256, hashlib.blake2b)
