"""Words: the one place from which every word on a card comes.

A word list is a YAML file of groups of sentences. Each sentence is a Jinja2 template, run
in a sandbox; ``t`` holds the terms of the trade. The list of a loft replaces what it names.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from cards.errors import CardError, printable
from cards.grid.knots import ONE_BAR, OPPOSITE, THREE_BAR
from cards.limits import WORDS_LIMIT
from cards.shelf import shelf
from cards.spec.lined import read_documents
from cards.spec.load import read_plain

_POINT = re.compile(r"(?<=[0-9])\.(?=[0-9])")  # a decimal point

LIMIT = 4000  # characters in one sentence, before and after it is filled in


class Words:
    """A word list: sentences by group and name.

    Parameters
    ----------
    sentences
        Templates by ``group.name``.
    source
        The file they come from, for messages.
    """

    def __init__(self, sentences: Mapping[str, str], source: str = "") -> None:
        self._sentences = dict(sentences)
        self._source = source
        self._templates: dict[str, Any] = {}
        self._terms = {
            name.partition(".")[2]: text
            for name, text in self._sentences.items()
            if name.startswith("terms.")
        }

    @property
    def language(self) -> str:
        """The language's tag, such as ``en``."""
        return self._sentences.get("language", "en")

    def say(self, key: str, **values: object) -> str:
        """Return a sentence with its values filled in, on one line.

        Raises
        ------
        CardError
            When the word list has no such sentence or it cannot be filled in.
        """
        text = self._sentences.get(key)
        if text is None:
            raise CardError(f"{self._source}: found no sentence {key}; expected one")
        if "{" not in text:
            return text
        said = _filled(text, self._terms, values)
        if said is None:
            said = self._rendered(key, text, values)
        if len(said) > LIMIT:
            raise CardError(
                f"{self._source}: {key}: found a sentence of more than {LIMIT} characters"
            )
        return " ".join(said.split())

    def _rendered(self, key: str, text: str, values: Mapping[str, object]) -> str:
        template = self._templates.get(key)
        try:
            if template is None:
                template = self._templates[key] = _template(text)
            said: str = template.render(t=self._terms, **values)
        except Exception as error:
            reason = printable(str(error))[:200]
            raise CardError(
                f"{self._source}: {key}: found a sentence that cannot be filled in ({reason}); "
                "expected text with {{ names }} as in the list it replaces"
            ) from error
        return said

    def figure(self, written: str) -> str:
        """Return a figure with the decimal sign of the language.

        Examples
        --------
        >>> words("en").figure("4.8 m"), words("es").figure("4.8 m")
        ('4.8 m', '4,8 m')
        """
        return _POINT.sub(lambda _: self.say("number.decimal"), written)

    def group(self, name: str) -> list[str]:
        """The keys of a group, in the order of the word list, empty sentences left out."""
        return [
            key
            for key, text in self._sentences.items()
            if key.startswith(f"{name}.") and text.strip()
        ]

    def replaced(self, sentences: Mapping[str, str], source: str) -> Words:
        """The list with some of its sentences replaced.

        Raises
        ------
        CardError
            When a sentence is named that the list does not have.
        """
        for key in sentences:
            if key not in self._sentences:
                from cards.errors import nearest

                advice = nearest(key, self._sentences)
                if not advice.startswith("Did"):
                    advice = ""
                raise CardError(
                    f"{source}: {printable(key)}: found an unknown sentence; "
                    f"expected one of the word list. {advice}".rstrip()
                )
        return Words({**self._sentences, **sentences}, source)


_NAME = re.compile(r"\{\{ *(t\.)?([a-z_]+)(\|capitalize)? *\}\}")


def _filled(text: str, terms: Mapping[str, str], values: Mapping[str, object]) -> str | None:
    """Fill in a sentence of mere names and terms, as most are, faster than a template is made.

    None where it is more than that, or a name is not known.
    """
    parts = _NAME.split(text)
    if any("{" in plain or "}" in plain for plain in parts[::4]):
        return None
    filled = [parts[0]]
    for term, name, capital, plain in zip(parts[1::4], parts[2::4], parts[3::4], parts[4::4]):
        named: Mapping[str, object] = terms if term else values
        if name not in named:
            return None
        own = str(named[name])
        filled += [own.capitalize() if capital else own, plain]
    return "".join(filled)


_TERMS = {THREE_BAR: "three_bar", ONE_BAR: "one_bar", OPPOSITE: "opposite"}


def knot_term(kind: str, word_list: Words) -> str:
    """The term for a kind of knot."""
    return word_list.say(f"terms.{_TERMS.get(kind, kind)}")


@lru_cache(maxsize=8)
def words(language: str = "en") -> Words:
    """The word list of a language that comes with the package.

    Raises
    ------
    CardError
        When there is none.
    """
    path = shelf("templates") / f"{language}.yaml"
    if not language.isalpha() or not path.is_file():
        known = ", ".join(languages())
        raise CardError(f'found no language "{printable(language)}"; expected one of {known}')
    sentences: dict[str, str] = {}
    for part in (path, *sorted(path.parent.glob(f"*.{language}.yaml"))):
        sentences |= _sentences(part.read_text(encoding="utf-8"), part.name)
    return Words(sentences, path.name)


@lru_cache(maxsize=1)
def languages() -> tuple[str, ...]:
    """The languages that come with the package."""
    listed = shelf("templates").glob("*.yaml")
    return tuple(sorted(path.stem for path in listed if path.stem.isalpha()))


def own_words(path: str | Path, base: Words) -> Words:
    """Read a loft's own word list over another.

    Raises
    ------
    CardError
        When the file cannot be read or used.
    """
    source = str(path)
    try:
        raw = read_plain(path, WORDS_LIMIT + 1)
        if raw is None or len(raw) > WORDS_LIMIT:
            found = "a device, pipe or folder" if raw is None else f"more than {WORDS_LIMIT} bytes"
            raise CardError(f"{printable(source)}: found {found}; expected a word list")
        text = raw.decode("utf-8-sig")
    except OSError as error:
        raise CardError(
            f"{printable(source)}: found a file that cannot be read ({error.strerror}); "
            "expected a word list"
        ) from None
    except UnicodeDecodeError:
        raise CardError(
            f"{printable(source)}: found bytes that are not UTF-8; expected text"
        ) from None
    return base.replaced(_sentences(text, source), source)


def _sentences(text: str, source: str) -> dict[str, str]:
    documents, error = read_documents(text, source)
    if error:
        raise error
    value = documents[0].value if documents else {}
    sentences: dict[str, str] = {}
    if not isinstance(value, dict):
        raise CardError(f"{source}: found no groups of sentences; expected such as terms:")
    for group, members in value.items():
        if isinstance(members, dict):
            for name, sentence in members.items():
                if sentence is not None and (
                    not isinstance(sentence, str) or len(sentence) > LIMIT
                ):
                    raise CardError(f"{source}: {group}.{name}: expected one sentence of text")
                sentences[f"{group}.{name}"] = sentence or ""
        elif isinstance(members, str):
            sentences[group] = members
        else:
            raise CardError(f"{source}: {group}: expected a group of sentences")
    return sentences


# What a sentence may be made of: text, names, terms, conditions and the filters below. No loop, no
# call and no sum, so that it takes no more time or room than it is long.
_PARTS = (
    "Template Output TemplateData Name Const Getattr Filter If CondExpr Compare Operand And Or Not"
)
_FILTERS = ("capitalize", "lower", "upper")


@lru_cache(maxsize=1)
def _sandbox() -> Any:
    from jinja2 import StrictUndefined
    from jinja2.sandbox import ImmutableSandboxedEnvironment

    sandbox = ImmutableSandboxedEnvironment(undefined=StrictUndefined, autoescape=False)
    sandbox.filters = {name: sandbox.filters[name] for name in _FILTERS}
    sandbox.globals.clear()
    return sandbox


def _template(text: str) -> Any:
    """Compile a sentence; raise ValueError where it holds more than a sentence may."""
    tree = _sandbox().parse(text)
    waiting = [tree]
    while waiting:
        node = waiting.pop()
        name = type(node).__name__
        if name not in _PARTS.split():
            raise ValueError(f"{name.lower()} is not allowed")
        waiting.extend(node.iter_child_nodes())
    return _sandbox().from_string(tree)
