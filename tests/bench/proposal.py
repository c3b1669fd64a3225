"""A proposal as PDF and HTML from an answered job, beside its words on two pages of matplotlib."""

import datetime
import io

from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure
from row import Row, timed

from airover.business.life_cost import life_cost
from airover.core.files import data_folder
from airover.records.catalog import read_catalog
from airover.records.company import Company
from airover.records.job import Job
from airover.reports.proposal import make
from airover.selection.answer import answer

DAY = datetime.date(2026, 5, 4)


def proposed(repeats: int) -> Row:
    """The peer sets no tables, breaks no lines and draws no pictures; both have two pages."""
    job = Job.read(data_folder() / "jobs" / "roof-unit.toml")
    found = answer(job, read_catalog(data_folder() / "catalogue.csv"))
    costs = life_cost(found)
    company = Company(name="Example Air Service", invented=True)

    def ours():
        made = make(found, company, costs, date=DAY, details=True)
        return made.pdf, made.html, made.content

    ours()  # typst and its fonts are loaded once, in the first proposal of a process
    seconds, (pdf, _, content) = timed(ours, repeats)
    words = list(_texts(content))
    peer, other = timed(lambda: _set_by_matplotlib(words), repeats)
    apart = abs(_pages(pdf) - _pages(other)) / _pages(other)
    return Row("a proposal, PDF and HTML", seconds, "its words by matplotlib", peer, apart, 0.0)


def _texts(content):
    if isinstance(content, str):
        yield content
    elif isinstance(content, (dict, list)):
        for part in content.values() if isinstance(content, dict) else content:
            yield from _texts(part)


def _set_by_matplotlib(words) -> bytes:
    written = io.BytesIO()
    with PdfPages(written) as pages:
        for half in (words[: len(words) // 2], words[len(words) // 2 :]):
            figure = Figure((8.5, 11))
            for number, text in enumerate(half):
                text = text.replace("$", r"\$")
                figure.text(0.05, 0.97 - 0.9 * number / len(half), text, size=6)
            pages.savefig(figure)
    return written.getvalue()


def _pages(pdf: bytes) -> int:
    return pdf.count(b"/Type /Page\n") + pdf.count(b"/Type /Page ") + pdf.count(b"/Type/Page/")
