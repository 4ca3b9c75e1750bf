"""A loft's own words replace those on the card; what is wrong in a word list is named."""

from __future__ import annotations

import re
from pathlib import Path

import jinja2
import pytest

from cards import load_text, plan
from cards.errors import CardError
from cards.picture import Text
from cards.sheet import compose
from cards.words import _filled, languages, own_words, words

ROOT = Path(__file__).resolve().parent.parent
SLIT, *_ = load_text("{title: Slit, hole: {shape: {kind: slit down, down: 3}}}")


def said(pages) -> str:
    return " ".join(
        shape.text for page in pages for shape in page.shapes if isinstance(shape, Text)
    )


def listed(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "words.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_new_term_changes_every_sentence_that_uses_it(tmp_path: Path) -> None:
    own = own_words(listed(tmp_path, "terms: {three_bar: three-legger, sider: side knot}"), words())
    text = said(compose(plan(SLIT), word_list=own))
    assert "three-legger" in text
    assert "side knot" in text
    assert "three-bar" not in text
    assert "sider" not in text


def test_a_sentence_is_replaced_whole(tmp_path: Path) -> None:
    own = own_words(listed(tmp_path, "check: {five: Tug each knot.}"), words())
    assert "Tug each knot." in said(compose(plan(SLIT), word_list=own))


def test_an_empty_sentence_is_left_out(tmp_path: Path) -> None:
    own = own_words(listed(tmp_path, "check: {five: ''}"), words())
    assert "None may slip" not in said(compose(plan(SLIT), word_list=own))


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("terms: {three_bars: x}", "terms.three_bars"),
        ("check: {five: '{{ nothing }}'}", "check.five"),
        ("check: {five: '{% for %}'}", "check.five"),
        ("check: [a, b]", "check"),
        ("terms: {sider: [a]}", "terms.sider"),
        ("terms: {sider: {a: b}}", "terms.sider"),
        ("just text", "no groups"),
        ("a: [", "not YAML"),
    ],
)
def test_a_wrong_word_list_is_named(text: str, names: str, tmp_path: Path) -> None:
    path = listed(tmp_path, text)
    with pytest.raises(CardError, match=r"words\.yaml") as raised:
        compose(plan(SLIT), word_list=own_words(path, words()))
    assert names in str(raised.value)


@pytest.mark.parametrize(
    "reach",
    [
        "{{ ''.__class__.__mro__ }}",
        "{{ t.__class__.__init__.__globals__ }}",
        "{{ cycler.__init__.__globals__ }}",
        "{{ (1).__class__.__base__.__subclasses__() }}",
        "{{ 'a' * 100000 }}",
        "{% for i in range(10 ** 9) %}a{% endfor %}",
        "{% include '/etc/passwd' %}",
        "{{ 'a' * 10 ** 9 }}",
        "{{ '%1000000000d' % 1 }}",
        "{{ 'a'.ljust(10 ** 9) }}",
        "{{ 'a' | center(10 ** 9) }}",
        "{% for a in 'aaa' %}{% for b in 'aaa' %}a{% endfor %}{% endfor %}",
        "{% macro a() %}{{ a() }}{% endmacro %}{{ a() }}",
        "{{ t.update({'sider': 'x'}) }}",
    ],
)
def test_a_sentence_cannot_reach_beyond_itself(reach: str, tmp_path: Path) -> None:
    path = listed(tmp_path, f"check:\n  one: |\n    {reach}\n")
    with pytest.raises(CardError, match=r"check\.one"):
        compose(plan(SLIT), word_list=own_words(path, words()))


def test_every_language_has_every_sentence() -> None:
    english = words("en")
    for language in languages():
        other = words(language)
        assert set(other._sentences) == set(english._sentences), language
        assert other.language == language


def test_an_unknown_language_is_named() -> None:
    with pytest.raises(CardError, match="no language"):
        words("../en")


@pytest.mark.parametrize("language", languages())
def test_sentences_with_only_names_are_filled_in_as_the_template_would(language: str) -> None:
    """Jinja2 itself fills in the same for every sentence that takes the short way."""
    listed = words(language)
    terms = {key.partition(".")[2]: listed.say(key) for key in listed.group("terms")}
    short = 0
    for key, text in listed._sentences.items():
        values = {name: f"<{name}> {{{{ x }}}}" for name in re.findall(r"\w+", text)}
        values.pop("t", None)
        if "{" in text and _filled(text, terms, values) is not None:
            short += 1
            said = jinja2.Template(text, undefined=jinja2.StrictUndefined).render(t=terms, **values)
            assert listed.say(key, **values) == " ".join(said.split()), key
    assert short > 40


@pytest.mark.parametrize("text", ["{{ x }}{% if x %}a{% endif %}", "{{ x|upper }}", "{{ x.y }}"])
def test_more_than_names_goes_the_long_way(text: str) -> None:
    assert _filled(text, {}, {"x": "a"}) is None


def test_no_sentence_is_kept_that_nothing_says() -> None:
    """Each stands in the code by its key, as one of a group, or by its name where keys are made."""
    code = "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "cards").rglob("*.py"))
    sentences = words()._sentences
    terms = set(re.findall(r"\bt\.(\w+)", " ".join(sentences.values())))
    quoted = set(re.findall(r"[\"']([a-z_ .-]+)[\"']", code))
    groups = set(re.findall(r"\.group\(\"(\w+)\"\)", code))
    made = [
        re.sub(r"\{[^}]*\}", "(.+)", form.replace(".", r"\."))
        for form in re.findall(r"f[\"']([a-z_]+\.[a-z_]*\{[^}]*\}[a-z_]*)[\"']", code)
    ]
    for key in sentences:
        group, _, name = key.partition(".")
        if not name or key in quoted or group in groups or group.startswith("stitch"):
            continue  # a stitch's stages are read off the drawing in its own tests
        if group == "terms" and name in terms:
            continue
        parts = [fit[1] for form in made if (fit := re.fullmatch(form, key))]
        assert quoted & set(parts), key
