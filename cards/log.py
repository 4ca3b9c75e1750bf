"""The repair log: a CSV file to which every card made adds a row, whoever else is writing."""

from __future__ import annotations

import csv
import io
import os
import re
import stat
import sys
from contextlib import contextmanager, suppress
from typing import Iterable, Iterator, NamedTuple

from cards.errors import OutputError, printable
from cards.job import Plan
from cards.units import half_up, whole_minutes

COLUMNS = (
    "card",
    "date",
    "title",
    "panel",
    "hole",
    "method",
    "knots",
    "twine, m",
    "minutes, estimated",
)

# Signs with which a spreadsheet begins a formula, full-width forms too, at the start of a cell
# or behind a separator that some spreadsheets use instead of the comma.
_FORMULA = re.compile(r"(^|[;\t|])(\s*)(?=[=+\-@＝＋－＠])")


class LogRow(NamedTuple):
    """A row of the log, in the order of `COLUMNS`; what is not known is empty."""

    card: str
    date: str
    title: str
    panel: str
    hole: str
    method: str
    knots: str
    twine: str
    minutes: str


def row_of(plan: Plan) -> LogRow:
    """The row of a card: its hole in meshes, twine in m, time in minutes."""
    spec, found, reckoning = plan.spec, plan.trim.found, plan.reckoning
    across, down = (found.right - found.left) / 2, len(found.rows) / 2
    return LogRow(
        card=plan.number,
        date=spec.date or "",
        title=spec.title,
        panel=spec.net.panel or "",
        hole=f"{across:g} by {down:g} meshes",
        method=plan.method,
        knots=str(plan.sewing.knots),
        twine="" if reckoning.length is None else f"{half_up(reckoning.length, 1):.1f}",
        minutes="" if reckoning.minutes is None else str(whole_minutes(reckoning.minutes)),
    )


def append(path: str | os.PathLike[str], row: LogRow) -> None:
    """Append a row to a log; see `append_all`."""
    append_all(path, [row])


def append_all(path: str | os.PathLike[str], rows: Iterable[LogRow]) -> None:
    """Append rows to a log, and its headings first where there is none yet.

    Parameters
    ----------
    path
        The log, a CSV file in UTF-8. Its folder has to be there.
    rows
        A row a card.

    Raises
    ------
    OutputError
        When the log cannot be written or is damaged. It is then as it was.

    Notes
    -----
    One run at a time holds the file; others wait. A row that is reported written is on the disk. A
    cell never starts a formula: an apostrophe is put before a sign that would.

    References
    ----------
    Form of the file: RFC 4180 (from memory).
    """
    rows = list(rows)
    if not rows:
        return
    name = printable(os.fsdecode(path))
    try:
        with _held(path, name) as handle:
            before = _read(handle)
            wrong = damage(before)
            if wrong:
                raise OutputError(
                    f"{name}: found a damaged log ({wrong}); expected one that ends in a whole "
                    "row. Nothing was written: mend it, or name another file."
                )
            _write(handle, len(before), _lines([] if before else [COLUMNS], rows))
    except OSError as error:
        raise OutputError(f"{name}: found no way to write it ({error.strerror})") from None


_OTHER_HEADINGS = "line 1: other headings than those of this log"


def damage(content: bytes) -> str:
    """Say what is wrong with the content of a log; nothing where it is sound or empty."""
    if not content:
        return ""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        return f"line {line}: a byte that is not UTF-8"
    if "\0" in text:
        return f"line {text[: text.index(chr(0))].count(chr(10)) + 1}: a zero byte"
    if not text.endswith("\n"):
        return f"line {text.count(chr(10)) + 1}: a row without its end"
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        if tuple(next(reader)) != COLUMNS:
            return _OTHER_HEADINGS
        for row in reader:
            if row and len(row) != len(COLUMNS):
                return f"line {reader.line_num}: {len(row)} cells, not {len(COLUMNS)}"
    except csv.Error:
        if reader.line_num == 1:
            return _OTHER_HEADINGS
        return f"line {reader.line_num}: quotation marks that do not close"
    return ""


def cell(text: str) -> str:
    """A text as a cell of the log: on one line, and no formula.

    Examples
    --------
    >>> cell("=1+1"), cell("Belly; -2"), cell("lower belly")
    ("'=1+1", "Belly;' -2", 'lower belly')
    """
    line = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return _FORMULA.sub(r"\1'\2", line)


def _lines(headings: Iterable[tuple[str, ...]], rows: Iterable[LogRow]) -> bytes:
    lines = io.StringIO(newline="")
    writer = csv.writer(lines)
    writer.writerows(headings)
    writer.writerows([cell(text) for text in row] for row in rows)
    return lines.getvalue().encode()


@contextmanager
def _held(path: str | os.PathLike[str], name: str) -> Iterator[int]:
    """Open a log and hold it against other runs."""
    while True:
        if os.path.islink(path):
            raise OutputError(f"{name}: found a link; expected the log file itself")
        handle = os.open(path, os.O_RDWR | os.O_CREAT | _PLAIN, 0o666)
        try:
            if not stat.S_ISREG(os.fstat(handle).st_mode):
                raise OutputError(f"{name}: found a device or pipe; expected a log file")
            with _locked(handle):
                if _still_there(handle, path):
                    yield handle
                    return
        finally:
            os.close(handle)


# No link is followed and no pipe waited for; on Windows bytes are written as they are.
_PLAIN = (
    getattr(os, "O_NOFOLLOW", 0)
    | getattr(os, "O_NONBLOCK", 0)
    | getattr(os, "O_CLOEXEC", 0)
    | getattr(os, "O_BINARY", 0)
)


def _still_there(handle: int, path: str | os.PathLike[str]) -> bool:
    """Whether the file held is still the one of this name: it may have been moved meanwhile."""
    with suppress(FileNotFoundError):
        return os.path.samestat(os.fstat(handle), os.lstat(path))
    return False


if sys.platform == "win32":
    import msvcrt

    @contextmanager
    def _locked(handle: int) -> Iterator[None]:
        # A byte far beyond the end stands for the file; after ten seconds this raises OSError.
        os.lseek(handle, 1 << 40, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_LOCK, 1)
        try:
            yield
        finally:
            os.lseek(handle, 1 << 40, os.SEEK_SET)
            msvcrt.locking(handle, msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    @contextmanager
    def _locked(handle: int) -> Iterator[None]:
        fcntl.flock(handle, fcntl.LOCK_EX)
        try:
            yield
        finally:
            fcntl.flock(handle, fcntl.LOCK_UN)


def _read(handle: int) -> bytes:
    os.lseek(handle, 0, os.SEEK_SET)
    parts = []
    while part := os.read(handle, 1 << 20):
        parts.append(part)
    return b"".join(parts)


def _write(handle: int, end: int, content: bytes) -> None:
    """Write at the end, all or nothing."""
    try:
        os.lseek(handle, end, os.SEEK_SET)
        left = memoryview(content)
        while left:
            left = left[os.write(handle, left) :]
        os.fsync(handle)
    except BaseException:
        with suppress(OSError):
            os.ftruncate(handle, end)
        raise
