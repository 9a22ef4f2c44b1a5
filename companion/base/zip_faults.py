"""What Python's zipfile raises for a file that is no whole ZIP archive."""

import lzma
import struct
import zlib
from typing import Final
from zipfile import BadZipFile

ZIP_FAULTS: Final = (
    BadZipFile,
    EOFError,
    KeyError,
    NotImplementedError,
    OverflowError,
    RuntimeError,
    ValueError,
    lzma.LZMAError,
    struct.error,
    zlib.error,
)
"""Found by damaging archives at random; OSError, which the disk raises too, is not among them."""
