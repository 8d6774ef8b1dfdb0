"""The child process that turns HTML into PDF: it knows WeasyPrint, and neither Django nor the database.

Run as ``python -m shopapp.documents.render_process`` by ``renderer``; it ends when its input ends.
"""

import json
import logging
import os
import shutil
import signal
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from urllib.parse import unquote, urlsplit

from weasyprint import CSS, HTML
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

from shopapp.documents.frames import receive, send

STATIC = Path(__file__).resolve().parents[2] / "static"
SHEETS = "css/"
KINDS = {
    ".css": "text/css",
    ".woff2": "font/woff2",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".jpg": "image/jpeg",
}
MADE, FAILED = b"+", b"-"
# twice what anybody waits for a paper
LONGEST_S = 20
# begins the name of the folder for this process's own files
FOLDER = "shopapp-paper-"


class Assets(URLFetcher):  # type: ignore[misc]  # WeasyPrint carries no types
    """Gives packaged files below static/ and the document's own photos; all else fails the document."""

    def __init__(self) -> None:
        super().__init__(fail_on_errors=True)
        self.photos: Mapping[str, str] = {}

    def fetch(self, url: str, headers: object = None) -> URLFetcherResponse:
        scheme, _, rest = url.partition(":")
        if scheme == "photo" and (photo := self.photos.get(unquote(rest))):
            return self._file(Path(photo), url=url)
        if scheme == "file":
            path = Path(unquote(urlsplit(url).path)).resolve()
            if path.is_relative_to(STATIC) and path.suffix in KINDS and not urlsplit(url).netloc:
                return self._file(path, url=url)
        raise FatalURLFetchingError(f"it asks for {url[:200]}, which is not a part of it")

    def _file(self, path: Path, *, url: str) -> URLFetcherResponse:
        try:
            body = path.read_bytes()
        except OSError as error:
            raise FatalURLFetchingError(f"it asks for {url[:200]}: {error.strerror}") from error
        return URLFetcherResponse(url, body, {"Content-Type": KINDS.get(path.suffix, "image/jpeg")})


class Faults(logging.Handler):
    """Keeps what WeasyPrint would only grumble about: a paper without one of its parts is no paper."""

    def __init__(self) -> None:
        super().__init__(level=logging.ERROR)
        self.sentences: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.sentences.append(record.getMessage()[:300])


class Press:
    """What all documents share: fonts, parsed sheets, the rule of what may be fetched."""

    def __init__(self) -> None:
        self.assets, self.fonts, self.faults = Assets(), FontConfiguration(), Faults()
        logger = logging.getLogger("weasyprint")
        logger.handlers, logger.propagate = [self.faults], False
        self._parsed: dict[str, CSS] = {}
        self._sheet("css/paper.css")

    def print(self, html: str, *, photos: Mapping[str, str]) -> bytes:
        """The PDF, tagged for screen readers; the same HTML and photos give the same bytes."""
        self.assets.photos = photos
        self.faults.sentences.clear()
        document = HTML(string=html, base_url=f"{STATIC.as_uri()}/", url_fetcher=self.assets)
        pdf: bytes = document.write_pdf(
            font_config=self.fonts, stylesheets=self._sheets_of(document), pdf_variant="pdf/ua-1"
        )
        if self.faults.sentences:
            raise ValueError(self.faults.sentences[0])
        return pdf

    def _sheets_of(self, document: HTML) -> list[CSS]:
        """The packaged sheets that the document links to, parsed once for all; their links are taken out."""
        links = [link for link in document.etree_element.iter("link") if link.get("rel") == "stylesheet"]
        packaged = [link for link in links if link.get("href", "").startswith(SHEETS)]
        sheets = [self._sheet(link.get("href")) for link in packaged]
        for link in packaged:
            link.set("rel", "")
        return sheets

    def _sheet(self, name: str) -> CSS:
        if name not in self._parsed:
            address = f"{STATIC.as_uri()}/{name}"
            self._parsed[name] = CSS(url=address, url_fetcher=self.assets, font_config=self.fonts)
        return self._parsed[name]

    def answer(self, message: bytes) -> bytes:
        """One reply: a sign, then the PDF or why there is none."""
        order = json.loads(message)
        try:
            return MADE + self.print(order["html"], photos=order["photos"])
        except (FatalURLFetchingError, Exception) as error:  # noqa: BLE001 (whatever it is, it concerns this document alone)
            return FAILED + _plainly(error).encode(errors="replace")


def _plainly(error: BaseException) -> str:
    """The reason, without telling where on this machine the app lies."""
    return (str(error) or type(error).__name__).replace(STATIC.as_uri(), "static")


def main() -> None:
    """Answer messages until there are no more."""
    answers = os.fdopen(os.dup(1), "wb")
    # whatever a library prints must not get between the answers
    os.dup2(2, 1)
    press = Press()
    while (message := receive(sys.stdin.buffer)) is not None:
        # whoever asks ends a document that hangs; if they were killed meanwhile, nobody would
        signal.alarm(LONGEST_S)
        send(answers, press.answer(message))
        signal.alarm(0)
    _leave_nothing(Path(tempfile.gettempdir()))


def _leave_nothing(folder: Path) -> None:
    """The folder made for this process goes, also when whoever made it was killed."""
    if folder.name.startswith(FOLDER):
        shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    main()
