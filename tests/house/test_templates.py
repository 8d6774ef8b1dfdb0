"""What templates may do: pieces from home, parts named as their id, no sums, no inline code, safe forms."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house.tree import REPOSITORY, Rule, plant, short, templates

_INCLUDE = re.compile(r"{%\s*include\s+[\"']([^\"']+)[\"']")
_PART = re.compile(r"{%\s*partialdef\s+([\w-]+)[^%]*%}(.*?){%\s*endpartialdef", re.DOTALL)
_FORM = re.compile(r"<form\b.*?</form\s*>", re.DOTALL | re.IGNORECASE)
_POST = re.compile(r"<form\b[^>]*(method=[\"']post|hx-post)", re.IGNORECASE)
_TAG = re.compile(r"<[a-zA-Z](?:{%.*?%}|{{.*?}}|\"[^\"]*\"|'[^']*'|[^>\"'])*>", re.DOTALL)
_ARITHMETIC = re.compile(r"\|\s*(?:add|divisibleby|floatformat)\b|{%\s*widthratio\b")
_UNESCAPED = re.compile(r"\|\s*(?:safe|safeseq)\b|{%\s*autoescape\s+off\b")
# signing in and out may be repeated without harm, so they carry no request key
_REPEATABLE = re.compile(r"people:sign_(?:in|out)")


def pages(root: Path) -> Iterator[tuple[str, str]]:
    """Each template's name and text."""
    for path in templates(root):
        yield short(root, path), path.read_text(encoding="utf-8")


def borrowed_pieces(root: Path) -> list[str]:
    """Includes from another folder than the template's own and components/."""
    return [
        f"{name}: includes {piece}"
        for name, text in pages(root)
        for piece in _INCLUDE.findall(text)
        if piece.partition("/")[0] not in (name.split("/")[1], "components")
    ]


def nameless_parts(root: Path) -> list[str]:
    """Parts without an element that bears the part's name as its id."""
    return [
        f"{name}: the part {part} holds no element with that id"
        for name, text in pages(root)
        for part, body in _PART.findall(text)
        if not re.search(rf'id="{part}(?:"|-{{{{)', body)
    ]


def sums(root: Path) -> list[str]:
    """Arithmetic and rounding, which belong to calc."""
    return [
        f"{name}: {hit.group().strip()} is arithmetic"
        for name, text in pages(root)
        for hit in _ARITHMETIC.finditer(text)
    ]


def unescaped(root: Path) -> list[str]:
    """Text that is put into a page as it comes."""
    return [
        f"{name}: {hit.group().strip()} lets text through unescaped"
        for name, text in pages(root)
        for hit in _UNESCAPED.finditer(text)
    ]


def inline_code_of(tag: str) -> str | None:
    """What the content security policy would refuse in one tag."""
    if tag.startswith("<style") and "nonce=" not in tag:
        return "style without a nonce"
    if tag.startswith("<script") and not re.search(r"\s(?:src|nonce)=", tag):
        return "script without a file or a nonce"
    hit = re.search(r"\s(style|on[a-z]+|hx-on[:\w-]*)\s*=", tag)
    return f"attribute {hit.group(1)}" if hit else None


def inline_code(root: Path) -> list[str]:
    """Styles, scripts and event attributes inside a page."""
    return [
        f"{name}: {code}"
        for name, text in pages(root)
        for tag in _TAG.findall(text)
        if (code := inline_code_of(tag))
    ]


def unsafe_forms(root: Path) -> list[str]:
    """Forms that change something without the tokens against forgery and double sending."""
    found = []
    for name, text in pages(root):
        for form in filter(_POST.match, _FORM.findall(text)):
            if "{% csrf_token %}" not in form:
                found.append(f"{name}: a form without csrf_token")
            if "{% once_key %}" not in form and not _REPEATABLE.search(form):
                found.append(f"{name}: a form without once_key")
    return found


RULES = [borrowed_pieces, nameless_parts, sums, unescaped, inline_code, unsafe_forms]

BREACHES = [
    (borrowed_pieces, '{% include "bench/_row.html" %}', "includes bench/_row.html"),
    (
        nameless_parts,
        '{% partialdef quote-lines inline %}<ul id="lines">{% endpartialdef %}',
        "the part quote-lines holds no element with that id",
    ),
    (sums, "{{ total|add:1 }}", "|add is arithmetic"),
    (sums, "{% widthratio a b 100 %}", "{% widthratio is arithmetic"),
    (unescaped, "{{ note|safe }}", "|safe lets text through unescaped"),
    (unescaped, "{% autoescape off %}", "{% autoescape off lets text through unescaped"),
    (inline_code, '<p class="a" style="color: red">', "attribute style"),
    (inline_code, '<a href="{% url "quotes:index" %}" onclick="go()">', "attribute onclick"),
    (inline_code, '<button hx-on:click="go()">', "attribute hx-on:click"),
    (inline_code, "<script>go()</script>", "script without a file or a nonce"),
    (inline_code, "<style>p {}</style>", "style without a nonce"),
    (unsafe_forms, '<form method="post">{% once_key %}</form>', "a form without csrf_token"),
    (unsafe_forms, '<form method="post">{% csrf_token %}</form>', "a form without once_key"),
]

FINE = """{% include "quotes/_row.html" %}{% include "components/_money.html" %}
{% partialdef quote-lines inline %}<section id="quote-lines"></section>{% endpartialdef %}
{% partialdef job-card %}<section id="job-card-{{ job.pk }}"></section>{% endpartialdef %}
<script src="a.js" defer></script><script nonce="{{ csp_nonce }}"></script><p>once="no"</p>
<form method="get"></form><form method="post">{% csrf_token %}{% once_key %}</form>
<form method="post" action="{% url 'people:sign_out' %}">{% csrf_token %}</form>
"""


@pytest.mark.parametrize("rule", RULES)
def test_templates_keep_the_house_rules(rule: Rule) -> None:
    assert "\n".join(rule(REPOSITORY)) == ""


@pytest.mark.parametrize(("rule", "text", "complaint"), BREACHES)
def test_template_breach_is_caught_and_named(tmp_path: Path, rule: Rule, text: str, complaint: str) -> None:
    plant(tmp_path, "templates/quotes/edit.html", text)

    found = rule(tmp_path)

    assert found == [f"templates/quotes/edit.html: {complaint}"]


@pytest.mark.parametrize("rule", RULES)
def test_fine_template_gives_no_complaint(tmp_path: Path, rule: Rule) -> None:
    plant(tmp_path, "templates/quotes/edit.html", FINE)

    found = rule(tmp_path)

    assert found == []
