"""Commands that begin at once: forked from a process that has loaded the whole program.

Each is a process of its own all the same, with its own input, output, environment, folder, signals
and end. What Python and the modules need to load, a third of a second each time, is left out; so
whatever asks about that starts the command in the usual way.

Run as a program it is that process: each message on its standard input, a socket, names a command
and brings what it reads from, writes to and tells its number and its end by. Where several test
processes are to share it, others may connect by another socket; it ends with the first.
"""

from __future__ import annotations

import atexit
import gc
import json
import os
import pkgutil
import select
import signal
import socket
import subprocess
import sys
import threading
import time
import traceback
from contextlib import contextmanager, suppress
from functools import cache
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import IO, TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

CAN_FORK = sys.platform == "linux"
ROOT = Path(__file__).parent.parent
_MOST = 100_000
"""Bytes of a message."""
_FILES = 4
"""What a command gets: input, output, errors, and where its number and its end are told."""


STARTED: list[subprocess.Popen[bytes]] = []
"""The process that has all loaded, once it is wanted."""
_SHARED = "WARM_START_SOCKET"
"""In the environment: where that of another test process can be asked."""


class WarmProcess:
    """A command that has begun; what it has of `subprocess.Popen` does the same here.

    Args:
        arguments: of the command.
        environment: the whole of it.
        files: what it reads from, and writes output and errors to.
        program: Python to run instead of the command, from the project's own folder.
    """

    stdin: IO[str] | None = None
    stdout: IO[str] | None = None

    def __init__(
        self,
        arguments: Sequence[str],
        environment: Mapping[str, str],
        files: Sequence[int],
        program: str = "",
    ) -> None:
        self.args = arguments
        self.returncode: int | None = None
        self._told, told = _pair()
        given = {"arguments": arguments, "environment": environment, "program": program}
        given["folder"] = str(ROOT if program else Path.cwd())
        with told:
            message = [json.dumps(given).encode()]
            socket.send_fds(_loaded(), message, [*files, told.fileno()])
        self._told.settimeout(120)
        self.pid = int(self._told.recv(20))

    def poll(self) -> int | None:
        """Return how it ended, or None."""
        try:
            return self.wait(0)
        except subprocess.TimeoutExpired:
            return None

    def wait(self, timeout: float | None = None) -> int:
        """Wait for its end and return how that was; below 0 the signal that ended it."""
        if self.returncode is None:
            self._told.settimeout(timeout)
            try:
                self.returncode = int(self._told.recv(20))
            except (TimeoutError, BlockingIOError):
                raise subprocess.TimeoutExpired(list(self.args), timeout or 0) from None
            self._told.close()
        return self.returncode

    def send_signal(self, number: int) -> None:
        """Send it a signal, if it has not ended."""
        if self.poll() is None:
            os.kill(self.pid, number)

    def kill(self) -> None:
        """End it at once."""
        self.send_signal(signal.SIGKILL)

    def terminate(self) -> None:
        """Ask it to end."""
        self.send_signal(signal.SIGTERM)

    def communicate(self, input: str = "", timeout: float | None = None) -> tuple[str, str]:  # noqa: A002 - as there
        """Give it its last lines and return what it has still to say, once it has ended."""
        assert self.stdin is not None
        assert self.stdout is not None
        self.stdin.write(input)
        self.stdin.close()
        said = self.stdout.read()
        self.wait(timeout)
        self.stdout.close()
        return said, ""


def start(arguments: Sequence[str], environment: Mapping[str, str]) -> WarmProcess:
    """Begin a command with open pipes, its errors among its output."""
    reads, gives = os.pipe()
    takes, writes = os.pipe()
    process = WarmProcess(arguments, environment, (reads, writes, writes))
    os.close(reads)
    os.close(writes)
    process.stdin, process.stdout = os.fdopen(gives, "w"), os.fdopen(takes)
    return process


def start_program(
    program: str, *arguments: str | Path
) -> tuple[WarmProcess | subprocess.Popen[bytes], IO[bytes]]:
    """Begin Python code that reads nothing; return it and the stream of what it writes."""
    if not CAN_FORK:
        command = [sys.executable, "-c", program, *arguments]
        process = subprocess.Popen(command, stdout=subprocess.PIPE, cwd=ROOT)
        assert process.stdout is not None
        return process, process.stdout
    takes, writes = os.pipe()
    with Path(os.devnull).open("rb") as nothing:
        files = (nothing.fileno(), writes, 2)
        forked = WarmProcess(list(map(str, arguments)), dict(os.environ), files, program)
    os.close(writes)
    return forked, os.fdopen(takes, "rb")


@contextmanager
def shared() -> Iterator[None]:
    """Begin the process now, to be asked by all test processes begun inside the block too."""
    with TemporaryDirectory() as folder, _socket() as listening:
        os.environ[_SHARED] = str(Path(folder) / "socket")
        listening.bind(os.environ[_SHARED])
        listening.listen()
        with _begun(listening.fileno()):
            yield
        STARTED.pop().wait()
        del os.environ[_SHARED]


@cache
def _loaded() -> socket.socket:
    """Return what the process that has all loaded is asked by; else it begins now."""
    if _SHARED not in os.environ:
        return _begun()
    ours = _socket()
    ours.connect(os.environ[_SHARED])
    return ours


def _begun(*listening: int) -> socket.socket:
    """Begin the process that loads all; return what it is asked by, and ends with."""
    ours, theirs = _pair()
    # A second thread, which NumPy's library would begin, is no good to fork beside.
    own = {**os.environ, "PYTHONPATH": str(ROOT), "OPENBLAS_NUM_THREADS": "1"}
    program = [sys.executable, "-P", __file__, *map(str, listening)]
    with theirs:
        began = subprocess.Popen(program, stdin=theirs.fileno(), env=own, pass_fds=listening)
    STARTED.append(began)
    return ours


def _socket() -> socket.socket:
    """Return a socket that keeps messages apart."""
    return socket.socket(socket.AF_UNIX, socket.SOCK_SEQPACKET)


def _pair() -> tuple[socket.socket, socket.socket]:
    """Return two ends that keep messages apart."""
    return socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)


def main() -> None:
    """Load all there is, then fork for each message; what is forked becomes the command."""
    import companion  # noqa: PLC0415 - only here
    from companion.loom.compute import read_and_compute  # noqa: PLC0415 - as above

    for module in pkgutil.walk_packages(companion.__path__, "companion."):
        if not module.name.endswith("__main__"):
            with suppress(ImportError):  # a library that may be missing, such as a board's
                import_module(module.name)
    read_and_compute(ROOT / "plans" / "first-try.toml")  # builds what checks plans
    listening = [socket.socket(fileno=int(number)) for number in sys.argv[1:]]
    asked = [socket.socket(fileno=os.dup(0))]
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # those that wait for commands end unseen
    gc.collect()
    gc.freeze()
    threads = list(Path("/proc/self/task").iterdir())
    assert len(threads) == 1, "what is forked would lose the others"
    own = asked[0]
    while own in asked:
        for each in select.select([*listening, *asked], [], [])[0]:
            if each in listening:
                asked.append(each.accept()[0])
            elif not _took(each, [*listening, *asked]):
                asked.remove(each)
                each.close()


def _took(asked: socket.socket, every: list[socket.socket]) -> bool:
    """Fork for the next message, if one is still to come."""
    message, files, _, _ = socket.recv_fds(asked, _MOST, _FILES)
    if message and os.fork() == 0:
        for each in every:
            each.close()
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)
        _stand_beside(json.loads(message), files)
    for file in files:
        os.close(file)
    return bool(message)


def _stand_beside(given: Mapping[str, Any], files: Sequence[int]) -> None:
    """Fork once more, tell the number and then the end of what becomes the command."""
    *streams, told = files
    pid = os.fork()
    if pid == 0:
        os.close(told)
        _become(given, streams)
        return
    for each in (0, 1, 2, *streams):
        os.close(each)
    os.write(told, str(pid).encode())
    _, status = os.waitpid(pid, 0)
    with suppress(BrokenPipeError):  # nobody may ask any more
        os.write(told, str(os.waitstatus_to_exitcode(status)).encode())
    os._exit(0)


def _become(given: Mapping[str, Any], streams: Sequence[int]) -> None:
    """Run the command as if Python had been started for it."""
    for number, stream in enumerate(streams):
        os.dup2(stream, number)
        os.close(stream)
    if os.isatty(0):
        import fcntl  # noqa: PLC0415 - not on Windows
        import termios  # noqa: PLC0415 - as above

        os.setsid()  # and the terminal controls it, as if a shell had started it there
        fcntl.ioctl(0, termios.TIOCSCTTY, 0)
    os.environ.clear()
    os.environ.update(given["environment"])
    time.tzset()
    os.chdir(given["folder"])
    sys.stdin = open(0, closefd=False)  # noqa: SIM115 - they stay open to the end
    sys.stdout = open(1, "w", closefd=False)  # noqa: SIM115
    sys.stderr = open(2, "w", buffering=1, errors="backslashreplace", closefd=False)  # noqa: SIM115
    sys.argv = ["companion", *given["arguments"]]
    from companion.cli import main as command  # noqa: PLC0415 - loaded long since

    code = 0
    try:
        if given["program"]:
            exec(given["program"], {"__name__": "__main__"})  # noqa: S102 - a test's own
        else:
            command()
    except SystemExit as ending:
        code = ending.code if isinstance(ending.code, int) else bool(ending.code)
    except Exception:  # noqa: BLE001 - as Python tells of it
        traceback.print_exc()
        code = 1
    # As Python ends, but for the clearing away of all that was loaded, which would first copy it.
    threading._shutdown()  # type: ignore[attr-defined] # noqa: SLF001 - as multiprocessing does
    atexit._run_exitfuncs()  # noqa: SLF001 - as above
    sys.stdout.flush()
    os._exit(code)


if __name__ == "__main__":
    main()
