"""Settings for the documentation site with the README, guide and code reference as HTML pages.

To build the site in results/site, run this command in the top folder:

    python -m sphinx -W -c worksheets/guide/site . results/site

The pages load nothing from the internet. Equations are MathML, and fonts are the browser's own.
"""

import os
import re
from pathlib import Path

from docutils import nodes
from docutils.utils.math import latex2mathml
from sphinx.domains.python import PythonDomain

ROOT = Path(__file__).resolve().parents[3]
INDEX = "worksheets/guide/index"

project = "airover"
copyright = "airover developers"
root_doc = INDEX
extensions = ["myst_parser", "sphinx.ext.apidoc", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
include_patterns = [
    "README.md", "DEVELOPERS.md", "CHANGELOG.md", "data/SOURCES.md", "tests/*/*.md",
    "worksheets/guide/*.md", "results/api/*.rst",
]  # fmt: skip
myst_enable_extensions = ["dollarmath"]
myst_heading_anchors = 4
html_theme = "furo"
html_title = "airover"
html_copy_source = False
html_math_renderer = "mathml"
html_extra_path = ["first"]
pygments_style = "friendly"
# Names without a description are left out. Fields are in the "Attributes" and signature of a class.
os.environ["SPHINX_APIDOC_OPTIONS"] = "members,show-inheritance"
apidoc_modules = [
    {
        "path": "../../../kit/airover",
        "destination": "results/api",
        # One page for each room: Furo lists all pages in the sidebar of every page.
        "separate_modules": False,
        "module_first": True,
    }
]
autodoc_member_order = "bysource"
toc_object_entries = False  # a page lists its modules; all names would be copied to every sidebar
autodoc_use_type_comments = False  # the code has annotations
napoleon_use_ivar = True  # autodoc already lists the fields of a record
suppress_warnings = ["ref.python"]  # names that two modules share, such as InputError


def contents(app, docname: str, source: list[str]) -> None:
    """Add a table of contents to the guide index, with one section for each heading."""
    if docname == INDEX:
        parts = re.findall(r"^## (.*)\n\n((?:- .*\n)+)", source[0], flags=re.MULTILINE)
        pages = {title: re.findall(r"\]\((\S+)\.md\)", links) for title, links in parts}
        pages["Project"] = ["/README", "/results/api/modules", "/DEVELOPERS", "/CHANGELOG"]
        pages["Project"] += [f"/{path.relative_to(ROOT).with_suffix('')}" for path in more()]
        for title, names in pages.items():
            lines = "\n".join(names)
            source[0] += f"\n```{{toctree}}\n:hidden:\n:caption: {title}\n\n{lines}\n```\n"


def more() -> list[Path]:
    """Pages in the data and tests folders."""
    return [ROOT / "data" / "SOURCES.md", *sorted(ROOT.glob("tests/*/*.md"))]


def of_others(app, what, name, value, skip, options) -> bool | None:
    """Leave out what is not described here: fields of named tuples, and methods of matplotlib.

    Sphinx cannot read the markup of methods that matplotlib adds to its subclasses.
    """
    field = type(value).__name__ == "_tuplegetter"
    return field or getattr(value, "__module__", "") == "matplotlib.artist" or None


class Names(PythonDomain):
    """Python names, with a quick answer for types such as float and ndarray.

    Sphinx compares each of these types with all names of the code, for a quarter of the whole time.
    """

    last_parts = frozenset()

    def find_obj(self, env, modname, classname, name, type, searchmode=0):
        """Return the objects called ``name``, or nothing if no name ends with its last part."""
        if name.removesuffix("()").rpartition(".")[2] not in self.last_parts:
            return []
        return super().find_obj(env, modname, classname, name, type, searchmode)


def note_names(app, env) -> None:
    """Note the last part of every name of the code."""
    objects = env.domaindata["py"]["objects"]
    Names.last_parts = frozenset(name.rpartition(".")[2] for name in objects)


def inline_math(writer, node) -> None:
    """Write an equation within a line as MathML."""
    writer.body.append(latex2mathml.tex2mathml(node.astext(), as_block=False))
    raise nodes.SkipNode


def displayed_math(writer, node) -> None:
    """Write an equation on its own line as MathML."""
    writer.body.append(latex2mathml.tex2mathml(node.astext(), as_block=True))
    raise nodes.SkipNode


def setup(app) -> None:
    """Register the functions above with Sphinx."""
    app.connect("source-read", contents)
    app.connect("autodoc-skip-member", of_others)
    app.connect("env-updated", note_names)
    app.add_domain(Names, override=True)
    app.add_html_math_renderer("mathml", (inline_math, None), (displayed_math, None))
