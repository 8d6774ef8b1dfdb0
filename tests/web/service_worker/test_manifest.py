"""The manifest: the bench on a home screen, with pictures that are there."""

import json

from django.contrib.staticfiles import finders
from django.test import Client


def test_manifest_puts_the_bench_on_the_home_screen(client: Client, db: None) -> None:
    answer = client.get("/manifest.webmanifest")
    told = json.loads(answer.content)

    assert answer["Content-Type"] == "application/manifest+json; charset=utf-8"
    assert (told["start_url"], told["scope"], told["display"]) == ("/bench/", "/", "standalone")
    assert {(icon["sizes"], icon["purpose"]) for icon in told["icons"]} == {
        ("192x192", "any"),
        ("192x192", "maskable"),
        ("512x512", "any"),
        ("512x512", "maskable"),
    }


def test_each_picture_of_the_manifest_is_there(client: Client, db: None) -> None:
    told = json.loads(client.get("/manifest.webmanifest").content)

    missing = [
        icon["src"] for icon in told["icons"] if finders.find(icon["src"].removeprefix("/static/")) is None
    ]

    assert missing == []
