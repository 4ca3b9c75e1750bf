"""Marking: an answer beside the sheet it belongs to, and the points it gets."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any

import msgspec

from cards.errors import Fault, SpecError, nearest, shown
from cards.grid import Bar, Knot
from cards.grid.islands import with_islands
from cards.limits import DOCUMENT_LIMIT
from cards.school.forms import FIELDS
from cards.school.tasks import NAMES, Exercise
from cards.school.tears import loose_bars
from cards.spec.cuts import cuts_given
from cards.spec.given import Wrong
from cards.spec.lined import Path, read_documents
from cards.spec.model import Spec
from cards.spec.walk import read_counts
from cards.trim import TWINE_COST, other
from cards.trim.check import Check, check_trim
from cards.units import Length
from cards.words import Words, knot_term

FULL = 10  # points for a right answer
# A trim that can be sewn: a point less for each cut over the fewest, two for each twine over; no
# less than this.
SEWABLE = 5
TWINE_OVER = 2
# One that cannot: so many points, less one for each cut that is still to make.
NEARLY = 4
TWINE_PART = 0.05  # how far the length of twine may be off, in m and as a part of it

FAULTS_TOLD = 5  # faults of one answer that are named one by one


@dataclass(frozen=True, slots=True)
class Marked:
    """A marked answer.

    Attributes
    ----------
    own
        The sheet.
    score
        Points, out of `FULL`.
    given
        Whether anything was answered.
    check
        For a trim, its check; cuts of web that hung on nothing are left out.
    remarks
        What is wrong in the answers to other tasks, a line each.
    """

    own: Exercise
    score: int
    given: bool
    check: Check | None = None
    remarks: tuple[str, ...] = ()

    @property
    def right(self) -> bool:
        """Whether all of it is right."""
        return self.score == FULL

    @property
    def fewest(self) -> int:
        """How many cuts the plan has."""
        return len(self.own.plan.cuts)

    @property
    def over(self) -> int | None:
        """Cuts over the fewest, of a trim that was given and can be sewn."""
        if self.check is None or not self.given or not self.check.sewable:
            return None
        return self.check.counted - self.fewest

    @property
    def twines_over(self) -> int:
        """Twines more than the sheet asks for, of a trim that can be sewn."""
        if self.check is None or not self.check.sewable:
            return 0
        return max(0, self.check.twines - len(self.own.plan.sewing.twines))


def amiss(check: Check) -> list[Knot]:
    """The knots that the cuts still to make would change, of those that are wrong.

    A three-bar that a twine shall start or end on is none of them.
    """
    wrong = check.wrong
    after = check.missing.plus(cut.bar for cut in check.further)
    return [knot for knot, name in wrong.items() if after.name_at(knot) != name]


@dataclass(frozen=True, slots=True)
class Answer:
    """What an answer file says: its fields with their lines, and what messages call it."""

    fields: dict[str, Any]
    lines: dict[Path, int]
    source: str

    def fault(self, name: str, found: str, expected: str, advice: str = "") -> SpecError:
        """The error for a field that cannot be read."""
        return SpecError(
            self.source, [Fault(name, found, expected, self.lines.get((name,)), advice)]
        )


def read_answer(text: str, source: str, task: str) -> Answer:
    """Read an answer to a task.

    Raises
    ------
    SpecError
        When the text is no answer to this task.
    """
    documents, error = read_documents(text, source)
    if error:
        raise error
    known = FIELDS[task]
    value = documents[0].value if documents else {}
    if len(documents) > 1:
        found = "several documents" if len(documents) < DOCUMENT_LIMIT else "too many documents"
        raise SpecError(source, [Fault("", found, "one answer in a file")])
    value = {} if value is None else value
    if not isinstance(value, dict):
        raise SpecError(source, [Fault("", shown(value), f"the answer as {known[0]}:", 1)])
    lines = documents[0].lines if documents else {}
    for name in value:
        if name not in known:
            fault = Fault(
                name,
                "an unknown field",
                f"{' and '.join(f'{own}:' for own in known)} for the task {task}",
                lines.get((name,)),
                nearest(name, known) if len(known) > 1 else "",
            )
            raise SpecError(source, [fault])
    return Answer(value, lines, source)


def mark(own: Exercise, text: str, source: str, words: Words) -> Marked:
    """Mark the text of an answer file.

    Parameters
    ----------
    own
        The sheet.
    text
        The answer as YAML.
    source
        What messages call it.
    words
        The words of the sheet, in which knots may be named.

    Raises
    ------
    SpecError
        When it cannot be read as an answer to this sheet.
    """
    answer = read_answer(text, source, own.fields.task)
    try:
        if own.fields.task == "name":
            return _name(own, answer, words)
        return _MARKS[own.fields.task](own, answer)
    except SpecError as error:
        if len(error.faults) <= FAULTS_TOLD:
            raise
        more = len(error.faults) - FAULTS_TOLD
        rest = Fault("", f"{more} faults more", "none")
        raise SpecError(source, [*error.faults[:FAULTS_TOLD], rest]) from None


# Bars


def _bars(own: Exercise, answer: Answer, name: str, numbered: Sequence[Bar]) -> tuple[Bar, ...]:
    """Bars in any of the forms of cuts: pairs of knots, a drawing with x, or numbers of cuts."""
    lines = {("cuts", *path[1:]): n for path, n in answer.lines.items() if path[:1] == (name,)}
    spec: Spec = msgspec.structs.replace(
        own.spec,
        cuts=answer.fields.get(name),
        source=answer.source,
        lines={**lines, **{path: n for path, n in own.spec.lines.items() if path[:1] == ("hole",)}},
    )
    try:
        return cuts_given(spec, numbered)
    except SpecError as error:
        raise SpecError(
            answer.source,
            [
                Fault(
                    fault.field.replace("cuts", name, 1),
                    fault.found,
                    fault.expected,
                    fault.line,
                    fault.advice,
                )
                for fault in error.faults
            ],
        ) from None


def _trim(own: Exercise, answer: Answer) -> Marked:
    plan = own.plan
    given = _bars(own, answer, "cuts", [cut.bar for cut in plan.cuts])
    loose = set(loose_bars(own.spec.hole))
    cuts = [bar for bar in given if bar not in loose]
    # What hangs on nothing is broken whether it was struck out or not.
    found, _ = with_islands(own.spec.hole)
    cost = TWINE_COST if own.spec.twine_cost is None else own.spec.twine_cost
    check = check_trim(found, cuts, plan.trim, cost, other(plan.hand))
    return Marked(own, _trim_score(own, check), bool(given) or not plan.cuts, check)


def _trim_score(own: Exercise, check: Check) -> int:
    if not check.cuts and own.plan.cuts:
        return 0  # a hole left as it is, though more twines might do
    if not check.sewable:
        return max(0, NEARLY - len(check.further))
    over = max(0, check.counted - len(own.plan.cuts))
    twines = max(0, check.twines - len(own.plan.sewing.twines))
    return max(SEWABLE, FULL - over - TWINE_OVER * twines)


def _mistake(own: Exercise, answer: Answer) -> Marked:
    given = _bars(own, answer, "wrong", own.made)
    if not given:
        return Marked(own, 0, False)
    if given == (own.wrong,):
        return Marked(own, FULL, True)
    kind, place = own.answer
    row, _, bar = place.partition(":")
    found = "another bar" if len(given) == 1 else f"{len(given)} bars"
    true = f"it is row {row}, bar {bar}, {kind}"
    return Marked(own, 0, True, remarks=(f"{found} marked, {true}",))


# Texts and numbers


def _texts(answer: Answer, name: str) -> list[str]:
    """A list of texts, or a text whose parts stand apart by spaces or commas."""
    value = answer.fields.get(name)
    if value is None:
        return []
    if isinstance(value, str):
        return [part for part in re.split(r"[\s,;]+", value) if part]
    if isinstance(value, list) and all(part is None or isinstance(part, str) for part in value):
        return [(part or "").strip() for part in value]
    raise answer.fault(name, shown(value), "a list on one line")


def _parts(
    own: Exercise, given: Sequence[str], told: Callable[[int], str] = lambda n: str(n + 1)
) -> Marked:
    """Mark an answer of several parts, each worth as much as the others."""
    wrong = [
        f"{told(n)}: {shown(said) if said else 'nothing'}, it is {true or 'not asked'}"
        for n, (said, true) in enumerate(zip_longest(given, own.answer, fillvalue=""))
        if said != true
    ]
    parts = max(len(given), len(own.answer))
    score = FULL * (parts - len(wrong)) // parts
    return Marked(own, score, any(given), remarks=tuple(wrong))


def _number(own: Exercise, answer: Answer) -> Marked:
    return _parts(own, [text.lstrip("0") or text for text in _texts(answer, "numbers")])


def _name(own: Exercise, answer: Answer, words: Words) -> Marked:
    value = answer.fields.get("names")
    if isinstance(value, str):
        value = [part for part in re.split(r"[,;\n]+", value.strip()) if part.strip()]
    listed = Answer({"names": value}, answer.lines, answer.source)
    known = {_plain(name): name for name in NAMES}
    known |= {_plain(knot_term(name, words)): name for name in NAMES}
    given = [known.get(_plain(text), text) for text in _texts(listed, "names")]
    letters = [letter for letter, _ in own.lettered]
    return _parts(own, given, lambda n: letters[n] if n < len(letters) else str(n + 1))


def _plain(text: str) -> str:
    """A name however it is spelt: small letters, no hyphens, no spaces."""
    return "".join(text.lower().replace("-", " ").split())


def _walk(own: Exercise, answer: Answer) -> Marked:
    value = answer.fields.get("walk")
    if value is None:
        return Marked(own, 0, False)
    if not isinstance(value, str):
        value = " ".join(_texts(answer, "walk"))
    try:
        counts = read_counts(value)
    except Wrong as wrong:
        raise answer.fault("walk", wrong.found, wrong.expected, wrong.advice) from None
    return _parts(own, [str(count) for count in counts], lambda n: f"count {n + 1}")


def _fields(own: Exercise, answer: Answer, same: Callable[[str, str, str], bool]) -> Marked:
    """Mark an answer that has a field for each part."""
    names = FIELDS[own.fields.task]
    remarks, given = [], 0
    for name, true in zip(names, own.answer):
        said = answer.fields.get(name)
        if said is not None and not isinstance(said, str):
            raise answer.fault(name, shown(said), "one number")
        given += said is not None
        if said is None or not same(name, said.strip(), true):
            remarks.append(f"{name}: {shown(said) if said else 'nothing'}, it is {true}")
    score = FULL * (len(names) - len(remarks)) // len(names)
    return Marked(own, score, given > 0, remarks=tuple(remarks))


def _count(own: Exercise, answer: Answer) -> Marked:
    def same(name: str, said: str, true: str) -> bool:
        if name != "twine":
            return said == true
        try:
            length = Length.read(said).mm / 1000
        except ValueError as error:
            raise answer.fault(
                name, shown(said), "a length such as 3.2 m", f"It is {error}."
            ) from None
        right = own.plan.reckoning.unjoined or 0.0
        return abs(length - right) <= max(TWINE_PART, TWINE_PART * right)

    return _fields(own, answer, same)


def _miscount(own: Exercise, answer: Answer) -> Marked:
    return _fields(own, answer, lambda name, said, true: said == true)


_MARKS: dict[str, Callable[[Exercise, Answer], Marked]] = {
    "trim": _trim,
    "number": _number,
    "count": _count,
    "mistake": _mistake,
    "walk": _walk,
    "miscount": _miscount,
}
