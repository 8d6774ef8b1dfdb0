"""Somebody who logs one thing after the other at a tablet, through its own forms, and remembers what."""

import random
from collections.abc import Sequence
from dataclasses import dataclass, field

from playwright.sync_api import BrowserContext, Page, expect

from shopapp.models import Job, Person
from tests.journeys.conftest import Watched

# fills a form of the page as a person would and sends it; is over when the tablet has stored the entry
TYPE = """([form, values]) => new Promise(async (done, failed) => {
  const place = document.querySelector(form);
  const told = document.getElementById("bench-logged");
  const picture = place.querySelector("[type=file]");
  for (const [name, value] of Object.entries(values)) {
    place.elements[name].value = value;
    place.elements[name].dispatchEvent?.(new Event("input", { bubbles: true }));
  }
  if (picture) {
    const canvas = new OffscreenCanvas(24, 16);
    const pen = canvas.getContext("2d");
    pen.fillText(values.caption.slice(-5), 0, 12);
    const chosen = new DataTransfer();
    chosen.items.add(new File([await canvas.convertToBlob()], "oil.png", { type: "image/png" }));
    picture.files = chosen.files;
  }
  setTimeout(() => failed(new Error(`${form} was not stored`)), 20_000);
  const watch = new MutationObserver(() => {
    if (told.hidden) return;
    watch.disconnect();
    setTimeout(done);
  });
  told.hidden = true;
  watch.observe(told, { attributes: true });
  place.requestSubmit();
})"""


@dataclass(kw_only=True)
class Typed:
    """One entry as the person remembers it; the mark stands in what they typed, and is like no other."""

    mark: str
    kind: str
    job: int
    person: Person
    # the number under which the tablet keeps it
    sequence: int = 0
    is_undone: bool = False


@dataclass(kw_only=True)
class Typist:
    """A tablet out of reach, the people at it, and all that was typed there."""

    name: str
    tablet: Watched
    people: Sequence[Person]
    jobs: Sequence[Job]
    rng: random.Random
    typed: list[Typed] = field(default_factory=list)
    undone: int = 0
    who: int = 0

    @property
    def context(self) -> BrowserContext:
        return self.tablet.page.context

    @property
    def page(self) -> Page:
        return self.tablet.page

    @property
    def sent(self) -> int:
        """How many entries the tablet has written: taking back is an entry too."""
        return len(self.typed) + self.undone

    def open_tab(self) -> None:
        """The tab is closed, whatever it was in the middle of, and another one opened."""
        context = self.context
        self.page.close()
        self.tablet = Watched(context.new_page())
        self.go(self.rng.choice(self.jobs))

    def go(self, job: Job) -> None:
        self.page.goto(f"/bench/job/{job.pk}/")
        expect(self.page.locator("#bench-unsent [data-count]")).not_to_have_text("…")

    def writes(self, count: int) -> None:
        """So many things on one boat, of all kinds, one of them perhaps taken back at once."""
        job = self.rng.choice(self.jobs)
        self.go(job)
        for _ in range(count):
            mark = f"{self.name}-{len(self.typed):03}"
            kind = self.rng.choice(list(CONTENTS))
            self.page.evaluate(TYPE, [FORMS.get(kind, f"form[data-entry={kind}]"), CONTENTS[kind](mark)])
            self.typed.append(Typed(mark=mark, kind=kind, job=job.pk, person=self.people[self.who]))
            if kind in TAKEN_BACK and self.rng.random() < 0.15:
                self.takes_back(self.typed[-1])

    def takes_back(self, typed: Typed) -> None:
        self.page.locator("#bench-unsent").click()
        said = self.page.locator("#bench-entries [data-entry-id]").filter(has_text=typed.mark)
        said.get_by_role("button", name="Undo").click()
        expect(said).to_have_attribute("data-state", "undone")
        typed.is_undone = True
        self.undone += 1

    def hands_over(self) -> None:
        """Somebody else works here from now on; nobody can check a PIN."""
        self.who = (self.who + 1) % len(self.people)
        page = self.page
        page.locator(".bench-head .menu summary").click()
        page.get_by_role("button", name="Lock", exact=True).click()
        name = self.people[self.who].name
        # the pages of this person are kept too, and open at their own jobs
        with page.expect_navigation():
            page.locator("#bench-lock").get_by_role("button", name=name, exact=True).click()
        expect(page.locator("[data-working]").first).to_have_text(name)


CONTENTS = {
    "part": lambda mark: {"description": f"Gasket {mark}", "quantity": "2"},
    "note": lambda mark: {"text": f"Line on the shaft {mark}"},
    "fluid": lambda mark: {
        "point": f"gearcase {mark}",
        "product": "Gear oil",
        "drained": "450",
        "filled": "500",
        "condition": "milky",
    },
    "time": lambda _mark: {"minutes": "30"},
    "clock_on": lambda _mark: {"work": "repair"},
    "reading": lambda mark: {"value": "12.6", "remark": f"at rest {mark}"},
    "photo": lambda mark: {"caption": f"Oil {mark}"},
}
TAKEN_BACK = ("part", "note", "fluid", "reading")
FORMS = {"reading": "#log-reading-voltage form"}
