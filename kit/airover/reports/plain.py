"""Plain text for a terminal or a printer: wrapped lines, lists below a title, paragraphs."""

import textwrap

WIDTH = 96  # characters


def paragraphs(parts) -> str:
    """Return the ``parts`` with an empty line between them; empty ones are left out."""
    return "\n\n".join(part for part in parts if part) + "\n"


def listed(title: str, sentences) -> str:
    """Return ``sentences`` below a ``title``, one line or more each; "" where there are none."""
    lines = [wrapped(f"- {sentence}", "", "  ") for sentence in sentences]
    return "\n".join([f"{title}:", *lines]) if lines else ""


def wrapped(text: str, first: str = "", rest: str = "") -> str:
    """Return ``text`` in lines of at most WIDTH; ``first`` and ``rest`` begin them."""
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=rest)
