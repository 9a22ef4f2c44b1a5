"""What starts the studio with its machine: a unit of systemd, in the user's own folder."""

import os
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from companion.base import home

UNIT: Final = "companion-studio.service"


def unit_folder() -> Path:
    """Return where a user's units are (systemd.unit(5), "User Unit Search Path")."""
    own = os.environ.get("XDG_CONFIG_HOME") or "~/.config"
    return Path(own).expanduser() / "systemd" / "user"


def unit(command: Sequence[str]) -> str:
    """Return the unit's text, which starts a command given word by word."""
    kept = os.environ.get(home.VARIABLE)
    own = f"Environment={_quoted(f'{home.VARIABLE}={Path(kept).resolve()}')}\n" if kept else ""
    return (
        "[Unit]\n"
        "Description=The looms of a weaving studio\n"
        "\n"
        "[Service]\n"
        f"{own}"
        f"ExecStart={' '.join(map(_quoted, command))}\n"
        "Restart=on-failure\n"
        "RestartSec=5\n"
        # Each walk ends in good order within this time.
        "TimeoutStopSec=30\n"
        "LimitNOFILE=65536\n"
        "\n"
        "[Install]\n"
        "WantedBy=default.target\n"
    )


def told(path: Path) -> Iterator[str]:
    """Yield what is printed: how it starts at boot, and how to undo it."""
    name = path.name
    yield f"Wrote {path}"
    yield f"Start it now and whenever you log in:  systemctl --user enable --now {name}"
    yield "Start it with the machine, before anybody logs in:  loginctl enable-linger"
    yield f"What it prints, the teacher's code too:  journalctl --user -u {name}"
    yield f"To undo it:  systemctl --user disable --now {name}; rm {path}; loginctl disable-linger"


def _quoted(word: str) -> str:
    """Return a word for a command line of systemd (systemd.service(5), "Command Lines")."""
    plain = word.replace("\\", "\\\\").replace('"', '\\"').replace("%", "%%").replace("$", "$$")
    return f'"{plain}"'
