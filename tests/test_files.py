"""Files are written whole or not at all, and nothing is written over."""

from __future__ import annotations

import os
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest

from companion.base import home
from companion.base.errors import CompanionError
from companion.base.files import check_free, is_reserved, make_folder, replace, replacing, write_new


def test_a_new_file_is_never_written_over(tmp_path: Path) -> None:
    """Two writings to one name keep the first; text keeps its line ends."""
    write_new(tmp_path / "a", "ends\r\nπ\n")
    with pytest.raises(CompanionError, match="a exists already"):
        write_new(tmp_path / "a", b"2")
    assert (tmp_path / "a").read_bytes() == "ends\r\nπ\n".encode()


def test_a_folder_that_takes_no_file_is_told_before_the_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All questions of a plan were answered first, in a folder that could not be written."""
    monkeypatch.setattr(os, "access", lambda path, _mode: path != tmp_path)
    with pytest.raises(CompanionError, match="may not be written"):
        check_free(tmp_path / "a")


def test_a_file_takes_the_place_of_another_whole(tmp_path: Path) -> None:
    """Until the block has ended well the old file stands, and no part is left beside it."""
    path = tmp_path / "a"
    replace(path, b"old")

    def cut() -> None:
        with replacing(path) as part:
            part.write_bytes(b"ne")
            assert path.read_bytes() == b"old"
            raise OSError

    with pytest.raises(OSError):  # noqa: PT011 - any
        cut()
    assert [each.read_bytes() for each in tmp_path.iterdir()] == [b"old"]
    replace(path, b"new")
    assert [each.read_bytes() for each in tmp_path.iterdir()] == [b"new"]


def test_a_folder_that_is_made_is_the_users_alone(tmp_path: Path) -> None:
    """Every folder made has mode 0700, as the XDG Base Directory Specification asks for homes."""
    tmp_path.chmod(0o755)
    make_folder(tmp_path / "home" / "journals")
    make_folder(tmp_path / "home" / "journals")
    modes = [(tmp_path / name).stat().st_mode & 0o777 for name in ("", "home", "home/journals")]
    assert modes == [0o755, 0o700, 0o700]


@pytest.mark.parametrize(
    ("name", "reserved"),
    [("con", True), ("NUL.toml", True), ("Com1.a.b", True), ("lpt³.pdf", True), ("aux ", True),
     ("com", False), ("com10.toml", False), ("console.toml", False), ("a.con", False)],
)  # fmt: skip
def test_names_of_windows_devices_are_refused(tmp_path: Path, name: str, *, reserved: bool) -> None:
    """The names listed in Microsoft Learn, "Naming Files, Paths, and Namespaces"."""
    assert is_reserved(name) is reserved
    if reserved:
        with pytest.raises(CompanionError, match="device's name"):
            check_free(tmp_path / name)


def test_one_variable_moves_all_that_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """COMPANION_HOME holds data, settings and clips; else each is in the system's own place."""
    monkeypatch.setenv(home.VARIABLE, str(tmp_path))
    assert {home.data(), home.config(), home.cache()} == {tmp_path}
    monkeypatch.delenv(home.VARIABLE)
    assert all("companion" in str(each) for each in (home.data(), home.config(), home.cache()))
    assert len({home.data(), home.config(), home.cache()}) == (3 if os.name == "posix" else 2)


def test_what_benches_keep_for_one_another_is_whole_or_not_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody is given what another run is still writing, or left behind in the middle."""
    monkeypatch.syspath_prepend(str(Path(__file__).parent / "bench" / "hearing"))
    whole = import_module("whole")
    kept = tmp_path / "kept" / "sound.npy"
    with pytest.raises(AttributeError):  # NumPy has written the head by then
        whole.array(kept, lambda: np.array([lambda: None], dtype=object))
    assert list(kept.parent.iterdir()) == []
    assert whole.array(kept, lambda: np.arange(3)).tolist() == [0, 1, 2]
    assert whole.array(kept, pytest.fail).tolist() == [0, 1, 2]
    assert whole.content(tmp_path / "text", lambda: b"done") == b"done"
