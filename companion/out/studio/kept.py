"""The looms of a studio, kept in a file so that they are there again after a restart."""

from collections.abc import Container, Iterable
from pathlib import Path
from typing import Annotated, Final

from pydantic import Field, ValidationError

from companion.base import files
from companion.base.errors import CompanionError
from companion.out.board.strict import Strict
from companion.record.store import slug

LOOMS_FILE: Final = "looms.json"
MOST_LOOMS: Final = 200
LONGEST_NAME: Final = 40
_MOST_BYTES: Final = 200_000
_Line = Annotated[str, Field(max_length=200)]


class KeptLoom(Strict):
    """One loom."""

    key: Annotated[str, Field(pattern=r"^[^\W_]+(-[^\W_]+)*$", max_length=LONGEST_NAME)]
    name: Annotated[str, Field(min_length=1, max_length=LONGEST_NAME)]
    session: _Line = ""
    """Walked here last, by its name."""
    weaver: _Line = ""
    is_walked: bool = False
    """Whether the walk was under way, and goes on when the studio is started again."""


class _Kept(Strict):
    looms: Annotated[tuple[KeptLoom, ...], Field(max_length=MOST_LOOMS)] = ()


def read(path: Path) -> tuple[KeptLoom, ...]:
    """Return the looms of a file, if it is there; CompanionError where it is not ours."""
    try:
        with path.open("rb") as file:
            return _Kept.model_validate_json(file.read(_MOST_BYTES)).looms
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise CompanionError(f"{path} cannot be read: {error.strerror}.") from None
    except ValidationError:
        raise CompanionError(
            f"{path} should hold the studio's looms and is damaged. Delete it: the sessions are "
            "kept apart from it, and can be taken up on the teacher's page."
        ) from None


def write(path: Path, looms: Iterable[KeptLoom]) -> None:
    """Keep the looms; CompanionError where the file cannot be written."""
    text = _Kept(looms=tuple(looms)).model_dump_json()
    try:
        files.replace(path, text.encode(), mode=0o600)
    except OSError as error:
        raise CompanionError(f"{path} cannot be written: {error.strerror}.") from None


def free_key(name: str, taken: Container[str]) -> str:
    """Return a key for a loom of this name that no other has, fit for an address."""
    own = slug(name)
    numbered = (own if number == 1 else f"{own}-{number}" for number in range(1, MOST_LOOMS + 2))
    return next(each for each in numbered if each not in taken)
