"""Files written all or nothing: beside their place first, then moved into it."""

from __future__ import annotations

import os
import tempfile
import time
from contextlib import suppress
from pathlib import Path

from cards.errors import CardError, OutputError, printable

# A file on its way is named so, beside its place. One that is this old belongs to a run that was
# killed.
ON_ITS_WAY = (".threebar-", ".part")
STRAY_AGE = 600.0  # seconds


def check_svg(path: str) -> None:
    """Raise `CardError` for a name of a drawing that does not end as SVG does."""
    if Path(path).suffix.lower() != ".svg":
        raise CardError(f"{printable(path)}: found a name for another format; expected FILE.svg")


def write_whole(path: str | os.PathLike[str], content: bytes, *, new: bool = False) -> None:
    """Write a file so that at any moment it is the old one or the new one, whole.

    Raises
    ------
    OutputError
        When it cannot be written; the old file is as it was. A `new` one is not written over a
        file that is there.
    """
    target = Path(path)
    name = printable(str(target))
    if new:
        check_new(path)
    if target.is_symlink() or (target.exists() and not target.is_file()):
        raise OutputError(f"{name}: found something that is no plain file; expected to write here")
    beside = None
    try:
        handle, beside = tempfile.mkstemp(
            prefix=ON_ITS_WAY[0], suffix=ON_ITS_WAY[1], dir=target.parent
        )
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(beside, 0o666 & ~_umask())
        if not new or not _linked(beside, target):
            os.replace(beside, target)
            beside = None
    except FileExistsError:
        raise _already_there(name) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        astray = isinstance(error, FileNotFoundError | NotADirectoryError)
        fit = "a file name in a folder that is there" if astray else "a place that can be written"
        raise OutputError(f"{name}: found no way to write it ({reason}); expected {fit}") from None
    finally:
        if beside is not None:
            with suppress(OSError):
                os.unlink(beside)


def _linked(beside: str, target: Path) -> bool:
    """Give a file its name where no other has it; not on a file system without links."""
    try:
        os.link(beside, target)
    except FileExistsError:
        raise
    except OSError:
        return False
    return True


def check_new(path: str | os.PathLike[str]) -> None:
    """Raise `OutputError` for the name of a new file that another has."""
    if os.path.lexists(path):
        raise _already_there(printable(str(path)))


def _already_there(name: str) -> OutputError:
    return OutputError(
        f"{name}: found a file of that name; expected a new name. It is left as it is."
    )


def folder_for(path: str) -> Path:
    """Make a folder to write into, if it is not there, and clear it of what a killed run left.

    Raises
    ------
    OutputError
        When it cannot be made or written.
    """
    folder = Path(path)
    name = printable(path)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"{name}: found no way to make this folder ({error.strerror})") from None
    if not os.access(folder, os.W_OK | os.X_OK):
        raise OutputError(f"{name}: found a folder that cannot be written; expected one that can")
    _clear_strays(folder)
    return folder


def _clear_strays(folder: Path) -> None:
    prefix, suffix = ON_ITS_WAY
    for stray in folder.glob(f"{prefix}*{suffix}"):
        with suppress(OSError):
            if time.time() - stray.lstat().st_mtime > STRAY_AGE:
                stray.unlink()


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
