from docutils import nodes
from docutils.utils.math import latex2mathml

project = "airover"
copyright = "airover developers"
root_doc = "README"
extensions = ["myst_parser", "sphinx.ext.apidoc", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
include_patterns = ["README.md", "DEVELOPERS.md", "CHANGELOG.md", "data/SOURCES.md", "tests/published/CHECKS.md", "tests/bench/RESULTS.md", "worksheets/guide/*.md", "results/api/*.rst"]
exclude_patterns = [".venv", ".git", "results/site"]
myst_enable_extensions = ["dollarmath"]
myst_heading_anchors = 4
html_theme = "furo"
html_math_renderer = "mathml"
apidoc_modules = [{"path": "../../../kit/airover", "destination": "results/api", "separate_modules": True, "include_private": False}]
autodoc_member_order = "bysource"


def _inline(self, node):
    self.body.append(latex2mathml.tex2mathml(node.astext(), as_block=False))
    raise nodes.SkipNode


def _block(self, node):
    self.body.append(latex2mathml.tex2mathml(node.astext(), as_block=True))
    raise nodes.SkipNode


def setup(app):
    app.add_html_math_renderer("mathml", (_inline, None), (_block, None))
