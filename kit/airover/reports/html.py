"""Fill in jinja2 templates for HTML pages, escaping all inserted values."""

from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

TEMPLATES = Path(__file__).parent / "templates"


def html_page(name: str, **values) -> str:
    """Return the page from the template ``name``, filled in with ``values``."""
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    return environment.get_template(f"{name}.html").render(values)
