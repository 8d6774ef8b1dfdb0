"""Over two hundred values that people, scripts and attackers put into fields."""

import os
import zlib
from collections.abc import Iterator, Sequence

_NUMBERS = """-1 -0 0 00 000000 +5 5. .5 5,5 5,,5 5..5 1e5 1E5 1e-9 1e999 inf -inf Infinity NaN nan NULL
 1/2 ½ 0x10 0b1 0o7 1_000 1__0 ١٢٣ １２３ Ⅷ 3.14159265358979 0.00001 0.0000000001 99999999999999999999
 -99999999999999999999 9223372036854775808 -9223372036854775809 2147483648 4294967296 1,000,000,000,000
 1.000.000 1'000 1’000 $5 5$ €5 5% 5h 5kg 1:30 1h30 five - -- + ++ . , ;""".split()
_TEXTS = [
    "", " ", "   ", "\t", "\n", "\r\n", "\u00a0", "\u202f", "\u200b", "\ufeff", "\u2028", "\u202e", "\x00", "a\x00b",
    "\x01", "\x1b[31m", "\x7f", "\x85", "é" * 300, "x" * 5_000, "x" * 60_000, "🛥️", "👩‍🔧", "a\u0301" * 50,
    "\ud7ff", "\ufffd", "\uffff", "\U0010ffff", "ﷺ", "i̇", "ß", "ſ", "\u212a", "\u212b",
    "<script>alert(1)</script>", "</textarea><script>alert(1)</script>", "<img src=x onerror=alert(1)>",
    '"><svg onload=alert(1)>', "' onfocus=alert(1) autofocus='", "javascript:alert(1)", "data:text/html,<b>x",
    "{{ 7*7 }}", "{% include 'x' %}", "{{ request.user.password }}", "${7*7}", "#{7*7}", "%(label)s", "%s%n%x",
    "' OR '1'='1", "'; DROP TABLE shopapp_customer; --", '" OR 1=1 --', "1; SELECT pg_sleep(5)", "\\'; --", "%", "_",
    "%%%", "\\", "\\\\", "`id`", "$(id)", "| id", "; id", "&& id", "../../etc/passwd", "..\\..\\x", "/etc/passwd",
    "file:///etc/passwd", "http://169.254.169.254/latest/meta-data/", "//evil.example", "\\\\evil.example\\x",
    '=HYPERLINK("http://evil.example","x")', "=1+1", "+1+1", "-1+1", "@SUM(A1)", "=cmd|' /C calc'!A0",
    "name\r\nBcc: a@b.example", "name\nSet-Cookie: a=b", "a@b", "a@", "@b", "a b@c.example", "a@b..c", "a" * 250 + "@b.example",
    "true", "false", "True", "None", "null", "undefined", "[]", "{}", "[object Object]", "on", "off", "yes", "no",
    "2026-02-30", "2026-13-01", "0000-00-00", "2026-2-3", "31/12/2026", "12/31/2026", "2026-06-01T00:00", "tomorrow",
    "9999-12-31", "1-1-1", "-2026-01-01", "10000-01-01", "20260101", "2026-W10", "1969-12-31",
    "part", "labour", "PART", " part ", "parts", "customer", "owner", "admin", "root", "staff", "self", "0,1", "1,2",
    "each", "H", "litre", "gal", "fixed", "FIXED", "open", "done", "gone", "ready", "approved",
    "00000000-0000-0000-0000-000000000000", "urn:uuid:00000000-0000-0000-0000-000000000000", "-1.5", "1.2345",
    "12.34567", "0.0001", "1000000.01", "999999999", "1e2", "١", "1 000", "1\u00a0000", "1\u202f000,5", "−5", "–5",
]  # fmt: skip

BAD_TEXTS: tuple[str, ...] = tuple(dict.fromkeys([*_NUMBERS, *_TEXTS]))


def tried_values() -> Iterator[str]:
    """The values, after making sure that there are as many as promised; see ``share_of_today``."""
    if len(BAD_TEXTS) < 200:
        raise AssertionError(f"only {len(BAD_TEXTS)} values")
    yield from share_of_today(BAD_TEXTS)


def share_of_today[T](values: Sequence[T]) -> Sequence[T]:
    """Every sixteenth value in the everyday run, another set in each test; SHOPAPP_ALL_VALUES=1: all."""
    if os.environ.get("SHOPAPP_ALL_VALUES"):
        return values
    test = os.environ["PYTEST_CURRENT_TEST"].partition(" ")[0]
    return values[zlib.crc32(test.encode()) % 16 :: 16]
