"""A panel with tables and pictures behind tabs."""

import ipywidgets as widgets

from airover.errors import InputError
from airover.panels import style
from airover.panels.after_rest import AfterRest
from airover.panels.fields import tab
from airover.panels.parts import Panel

_WORKING = object()


class PagedPanel(Panel):
    """A panel with pages: the one that is looked at is worked, and no other.

    ``pages`` has the place of each by its title, ``tables`` the tabs. A page of ``SLOW`` is worked
    once the controls rest.
    """

    SLOW = ()

    def page(self, title: str) -> str:
        """The page of that ``title`` as HTML; an InputError is told in its place."""
        raise NotImplementedError

    def page_key(self, title: str):
        """What the page depends on: one that has not changed is not worked again."""
        return self.answer

    def make_pages(self, titles, more=None) -> None:
        """An empty page for each of ``titles``; ``more`` are lists of widgets by title,
        behind tabs of their own."""
        self.pages, self._told = {title: widgets.HTML() for title in titles}, {}
        self.tables = tab({title: [place] for title, place in self.pages.items()} | (more or {}))
        self.tables.add_class("ao-answer")
        self.tables.observe(lambda _: self.draw_page(), "selected_index")
        self._later = AfterRest(self.draw_slow)

    @property
    def page_shown(self) -> str:
        """Title of the page that is looked at."""
        return self.tables.titles[self.tables.selected_index or 0]

    def draw_page(self) -> None:
        """The page that is looked at, if it is not up to date; a slow one once controls rest."""
        title = self.page_shown
        if title not in self.pages or self._told.get(title) == self.page_key(title):
            self._later.forget()
        elif title not in self.SLOW:
            self._write(title)
        else:
            if self._told.get(title) is not _WORKING:
                self.pages[title].value = self._working(self.pages[title].value)
                self._told[title] = _WORKING
            self._later.ask()

    def draw_slow(self) -> None:
        """Work the page that is looked at, now."""
        try:
            self._write(self.page_shown)
        except Exception:
            self.pages[self.page_shown].value = style.problem(self.text("broken"))
            raise

    def _working(self, earlier: str) -> str:
        """A page that is being worked: the ``earlier`` one, if any, stays and is said to be that."""
        if not earlier:
            return style.quiet(self.text("page_working"))
        return style.quiet(self.text("page_earlier")) + style.faded(earlier)

    def _write(self, title: str) -> None:
        try:
            shown = self.page(title)
        except InputError as error:  # the answer holds; this page alone cannot be worked
            shown = style.problem(self.text("page_refused", why=self.writer.error(error)))
        self.pages[title].value = shown
        self._told[title] = self.page_key(title)
