"""A model is fetched only when asked for, exactly as published, or nothing is added."""

from __future__ import annotations

import hashlib
import threading
from dataclasses import replace
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from typing import TYPE_CHECKING

import pytest
from test_models import FILES, NAME, contents, make_zip, works

from companion.base.errors import ModelError
from companion.devices.recogniser.fetch import KNOWN, Published, fetch

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


class Quiet(SimpleHTTPRequestHandler):
    """Serves a folder, without a line on the terminal for each request."""

    def log_message(self, *_: object) -> None:
        """Say nothing."""

    def do_GET(self) -> None:
        """Send on to a file of this machine when asked for /away."""
        if self.path == "/away":
            self.send_response(302)
            self.send_header("Location", "file:///etc/passwd")
            self.end_headers()
        else:
            super().do_GET()


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Published]:
    """A model's archive on a web server of this machine."""
    (tmp_path / "served").mkdir()
    content = make_zip(tmp_path / "served" / "model.zip", FILES).read_bytes()
    handler = partial(Quiet, directory=str(tmp_path / "served"))
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
        thread.start()
        yield Published(
            name=NAME,
            url=f"http://127.0.0.1:{server.server_port}/model.zip",
            size_bytes=len(content),
            sha256=hashlib.sha256(content).hexdigest(),
            licence="Apache-2.0",
        )
        server.shutdown()
        thread.join()


def test_a_model_is_fetched_with_lines_of_progress(served: Published, tmp_path: Path) -> None:
    """Its size first, how far it is at the tenths, and the record of where it came from."""
    lines: list[str] = []
    model = fetch(served, tmp_path / "models", lines.append, try_out=works)
    assert contents(tmp_path / "models" / NAME) == FILES
    assert model.record is not None
    assert (model.record.source, model.record.sha256) == (served.url, served.sha256)
    assert lines[0].startswith("Fetching ")
    assert lines[1:-1], "a line for progress"
    assert all("\n" not in line and "\r" not in line for line in lines)
    assert lines[-1] == "Checking and unpacking."


def _refused(published: Published, folder: Path) -> str:
    with pytest.raises(ModelError) as refused:
        fetch(published, folder, lambda _line: None, try_out=works)
    assert contents(folder) == {}
    assert "\n" not in str(refused.value)
    return str(refused.value)


def test_other_content_than_published_is_refused(served: Published, tmp_path: Path) -> None:
    """A wrong hash, and fewer or more bytes than published, add nothing."""
    folder = tmp_path / "models"
    assert "expected the SHA-256" in _refused(replace(served, sha256="0" * 64), folder)
    longer = replace(served, size_bytes=served.size_bytes + 1)
    assert f"but {served.size_bytes} came" in _refused(longer, folder)
    shorter = replace(served, size_bytes=served.size_bytes - 1)
    assert "but more came" in _refused(shorter, folder)


def test_no_answer_tells_the_other_way(served: Published, tmp_path: Path) -> None:
    """Missing on the server, no server, no such host: bring the file from elsewhere."""
    folder = tmp_path / "models"
    gone = replace(served, url=served.url.replace("model.zip", "gone.zip"))
    assert "the server answered 404" in _refused(gone, folder)
    nobody = replace(served, url="http://127.0.0.1:9/model.zip")
    assert "`companion models add`" in _refused(nobody, folder)


def test_being_sent_on_to_a_file_of_this_machine_is_refused(
    served: Published, tmp_path: Path
) -> None:
    """A server can send on to another address, but not to what is here."""
    away = replace(served, url=served.url.replace("model.zip", "away"))
    assert "could not be fetched" in _refused(away, tmp_path / "models")


def test_every_known_model_is_fully_described() -> None:
    """Each has a secure address, a size, a whole SHA-256 and a licence."""
    for language, published in KNOWN.items():
        assert published.url.startswith("https://")
        assert f"-{language}" in published.name
        assert published.size_bytes > 10**7
        assert len(bytes.fromhex(published.sha256)) == 32
        assert published.licence
