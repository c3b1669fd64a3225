"""Keep the list of open pages, and limit how many one browser and all browsers have open."""

import asyncio
import threading
import uuid
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from airover.app.lines import Line

if TYPE_CHECKING:
    from airover.app.class_page import LessonPage
    from airover.app.page import App

MOST_PAGES = 120  # maximum number of pages open at the same time
MOST_OF_ONE = 10  # pages open in one browser
MOST_UNOPENED = 1000  # pages that were requested but not opened; the oldest is discarded


class Begins(NamedTuple):
    """Language and unit system of a new page."""

    language: str
    units: str


@dataclass
class Page:
    """Page that is open in a browser.

    Attributes
    ----------
    key : str
        Key of the file that stores the page's entries.
    session : str
        Browser session that opened the page.
    lesson : str
        Lesson for a student of a class, or "" for the page with a job.
    connected, here : bool
        True once the page has been connected, and while it is connected.
    line : Line or None
        Connection to the browser since the page was first connected.
    """

    key: str
    begins: Begins
    session: str
    lesson: str = ""
    app: "App | LessonPage | None" = None
    connected: bool = False
    here: bool = False
    line: Line | None = None
    talking: asyncio.Task | None = None  # exchange of messages over the line


class Pages:
    """Open pages by name. The name is the ID of the page's kernel context in solara."""

    def __init__(self):
        self._pages: dict[str, Page] = {}
        self._lock = threading.Lock()

    def give(self, key: str, begins: Begins, session: str, lesson: str = "") -> str | None:
        """Create a page and return its name, or None if too many pages are open.

        A page that has never connected to the server does not count, because it has no widgets.
        """
        with self._lock:
            if self._are_too_many(session, lesson or key):
                return None
            unopened = [name for name, page in self._pages.items() if not page.connected]
            if len(unopened) >= MOST_UNOPENED:
                del self._pages[unopened[0]]
            name = uuid.uuid4().hex
            self._pages[name] = Page(key, begins, session, lesson)
            return name

    def connect(self, page: Page) -> bool:
        """Mark a page as connected, unless too many pages are open."""
        with self._lock:
            page.here = page.here or not self._are_too_many(page.session)
            page.connected = page.connected or page.here
            return page.here

    def surplus(self, session: str) -> str | None:
        """Return the name of the oldest page without a browser, if there are too many pages."""
        with self._lock:
            opened = {name: page for name, page in self._pages.items() if page.connected}
            own = {name: page for name, page in opened.items() if page.session == session}
            if len(opened) <= MOST_PAGES and len(own) <= MOST_OF_ONE:
                return None
            away = [name for name in (*own, *opened) if not opened[name].here]
            return away[0] if away else None

    def _are_too_many(self, session: str, place: str = "") -> bool:
        """Return True if no more pages may be open.

        A browser that reloads a page requests the page again before it leaves the old one, so the
        old page at the same ``place`` does not count.
        """
        here = [page for page in self._pages.values() if page.here]
        own = [page for page in here if page.session == session]
        left = any((page.lesson or page.key) == place for page in own)
        return len(here) - left >= MOST_PAGES or len(own) - left >= MOST_OF_ONE

    def find(self, name: str, session: str | None) -> Page | None:
        """Return the page with this name if it belongs to this browser session."""
        page = self._pages.get(name)
        return page if page is not None and page.session == session else None

    def of(self, name: str) -> Page:
        return self._pages[name]

    def end(self, name: str) -> None:
        self._pages.pop(name, None)

    def __len__(self) -> int:
        return len(self._pages)
