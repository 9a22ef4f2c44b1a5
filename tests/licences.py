"""What licence each package of the lock states, as a table: python tests/licences.py."""

from __future__ import annotations

import re
from collections import defaultdict
from importlib.metadata import PackageNotFoundError, metadata
from pathlib import Path

ROOT = Path(__file__).parent.parent
SPDX = {
    "3-Clause BSD License": "BSD-3-Clause",
    "Apache 2.0": "Apache-2.0",
    "Apache Software License": "Apache-2.0",
    "BSD 3-Clause License": "BSD-3-Clause",
    "BSD License": "BSD",
    "MIT License": "MIT",
    "PSFL": "PSF-2.0",
}
"""Names of <https://spdx.org/licenses> for what some packages write instead; plain BSD is none."""
ELSEWHERE = {
    "colorama": "BSD",
    "comtypes": "MIT",
    "pyobjc-core": "MIT",
    "pyobjc-framework-cocoa": "MIT",
    "pypiwin32": "none stated",
    "pywin32": "PSF-2.0",
    "tzdata": "Apache-2.0",
}
"""Packages for Windows and macOS alone, as read in their wheels."""


def packages() -> list[str]:
    """Return the names of the packages that the lock installs on one system or another."""
    lock = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    return sorted(set(re.findall(r"^([a-z][a-z0-9-]*)==", lock, re.MULTILINE)))


def stated(package: str) -> str | None:
    """Return the licence a package states; None where it is not installed here."""
    try:
        told = metadata(package)
    except PackageNotFoundError:
        return None
    classifiers = [each for each in told.get_all("Classifier", []) if each.startswith("License")]
    names = [told["License-Expression"], told["License"], *classifiers]
    known = [name.rpartition(" :: ")[2] for name in names if name and name != "UNKNOWN"]
    return SPDX.get(known[0], known[0]) if known else "none stated"


def table() -> str:
    """Return the table that stands in DEVELOPERS.md."""
    under = defaultdict(list)
    for package in packages():
        under[ELSEWHERE.get(package) or stated(package) or "not installed here"].append(package)
    rows = [f"| {licence} | {', '.join(names)} |" for licence, names in sorted(under.items())]
    return "\n".join(["| licence | packages |", "|---|---|", *rows])


if __name__ == "__main__":
    print(table())
