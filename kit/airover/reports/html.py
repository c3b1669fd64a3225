"""Pages of HTML from a jinja2 template; everything filled in is escaped."""

from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined


def html_page(template: Path, **values) -> str:
    """The page that ``template`` gives with its ``values``."""
    environment = Environment(
        loader=FileSystemLoader(template.parent),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    return environment.get_template(template.name).render(values)
