"""A real file system of a few hundred kilobytes, to fill up."""

from __future__ import annotations

import os
import subprocess
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

needs_mount = pytest.mark.skipif(
    sys.platform != "linux" or os.geteuid() != 0, reason="mounting a small disk needs root on Linux"
)


@contextmanager
def mounted(folder: Path, size: str) -> Iterator[Path]:
    """Mount an empty file system of the size, "400k", on the folder; skip the test if refused."""
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(folder)]
    if subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("this machine lets no disk be mounted")
    try:
        yield folder
    finally:
        subprocess.run(["umount", folder], check=True)
