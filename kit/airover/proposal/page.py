"""The proposal as one page of HTML: the same content, every text escaped, nothing from outside.

Its policy forbids scripts and any request, so that what was typed could do nothing even if it
were taken for markup.
"""

import base64
from html import escape

from airover.figures import palette

_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
_TYPES = {"svg": "image/svg+xml", "png": "image/png", "jpg": "image/jpeg", "jpeg": "image/jpeg"}
_STYLE = (
    f":root {{ {palette.css()} }}"
    + """
body { margin: 0; color: var(--ink); background: #fff; line-height: 1.45;
  font: 15px/1.45 system-ui, "Segoe UI", Roboto, "Helvetica Neue", Arial, sans-serif; }
main { max-width: 900px; margin: 0 auto; padding: 20px 22px 40px; overflow-wrap: anywhere; }
h1 { font-size: 22px; line-height: 1.25; margin: 14px 0; }
h1 span { font-weight: 400; }
h2 { font-size: 16px; margin: 24px 0 6px; }
h3 { font-size: 14px; margin: 14px 0 4px; }
p { margin: 0 0 6px; }
ul { margin: 0; padding-left: 20px; }
img { display: block; width: 100%; height: auto; }
header { display: flex; flex-wrap: wrap; gap: 12px 30px; justify-content: space-between;
  border-bottom: 1px solid var(--ink); padding-bottom: 10px; }
header strong { font-size: 18px; }
header img { width: auto; max-height: 56px; margin-bottom: 6px; }
.invented { border: 2px solid var(--ink); padding: 6px 10px; font-weight: 600; }
.pair { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 300px), 1fr));
  gap: 0 30px; }
.offer { border-left: var(--heavy) solid var(--bar); background: var(--wash); padding: 8px 14px; }
.offer strong { display: block; font-size: var(--headline); margin-bottom: 4px; }
.wide { overflow-x: auto; }
.wide table { min-width: 560px; }
.options { table-layout: fixed; }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums; }
th, td { text-align: left; vertical-align: top; padding: 3px 12px 3px 0; font-weight: 400;
  border-bottom: 1px solid var(--line); }
thead th { font-weight: 600; }
tbody th { color: var(--soft); }
tfoot td, tfoot th { font-weight: 600; color: var(--ink); border-top: 1px solid var(--ink); }
.money td { text-align: right; white-space: nowrap; padding-right: 0; }
.small { font-size: 13px; }
.soft, footer { color: var(--soft); }
footer { border-top: 1px solid var(--line); margin-top: 24px; padding-top: 6px; font-size: 13px; }
.box { display: inline-block; width: 12px; height: 12px; border: 1px solid var(--ink);
  margin-right: 8px; }
.sign { break-inside: avoid; }
.sign td { height: 30px; border-bottom: 1px solid var(--soft); width: 80%; }
.sign th { border: 0; vertical-align: bottom; }
.blank { display: block; min-width: 140px; height: 1.3em; border-bottom: 1px solid var(--soft); }
@media (max-width: 560px) { .options thead { font-size: 13px; } .options { font-size: 13px; }
  main { padding: 14px 14px 30px; } }
@media print { body { font-size: 11px; } h2 { break-after: avoid; } }
"""
)


def html(content: dict, files: dict[str, bytes]) -> str:
    """The whole page; ``files`` are the pictures and the logo by their names in ``content``."""
    head = content["head"]
    parts = [
        _head(content, files),
        _pair(_people(content["customer"]), _people(content["unit"])),
        _told(content["finding"]),
        _offer(content["offer"]),
        _options(content["options"]),
        _pictures(content["pictures"], files),
        _pair(_price(content["price"]), *(_told(content[name]) for name in ("warranty", "life"))),
        _section(content["work"], _points(content["work"]["items"])),
        _known(content["known"]),
        _checks(content["checks"]),
        _section(content["caution"], _points(content["caution"]["items"])),
        _sign(content["sign"]),
        f"<footer>{_said(head['foot'])}</footer>",
    ]
    return (
        f'<!doctype html>\n<html lang="{escape(content["language"], quote=True)}">\n<head>\n'
        f'<meta charset="utf-8">\n<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(head['document'])}</title>\n<style>{_STYLE}</style>\n</head>\n"
        "<body>\n<main>\n" + "\n".join(parts) + "\n</main>\n</body>\n</html>\n"
    )


def _said(text: str) -> str:
    """A text, escaped, that does not turn the direction of what stands around it."""
    return f"<bdi>{escape(text, quote=True)}</bdi>"


def _head(content: dict, files) -> str:
    head = content["head"]
    logo = _image(content["logo"], head["company"], files) if content["logo"] else ""
    lines = "".join(f'<br><span class="soft">{_said(one)}</span>' for one in head["company_lines"])
    who = f"<div>{logo}<strong>{_said(head['company'])}</strong>{lines}</div>"
    title = f"<h1>{_said(head['title'])}: <span>{_said(head['subject'])}</span></h1>"
    invented = f'<p class="invented">{_said(head["invented"])}</p>' if head["invented"] else ""
    return f"<header>{who}<div>{_table(head['rows'])}</div></header>{title}{invented}"


def _section(part: dict, inside: str, kind: str = "") -> str:
    return f'<section class="{kind}"><h2>{_said(part["title"])}</h2>{inside}</section>'


def _told(part: dict) -> str:
    return _section(part, _sentences(part["items"]))


def _pair(*parts: str) -> str:
    """Side by side where there is room."""
    return f'<div class="pair">{"".join(parts)}</div>'


def _people(part: dict) -> str:
    return _section(part, _table(part["rows"]))


def _sentences(items) -> str:
    return "".join(f"<p>{_said(one)}</p>" for one in items)


def _points(items) -> str:
    return "<ul>" + "".join(f"<li>{_said(one)}</li>" for one in items) + "</ul>"


def _table(rows, head=(), foot=(), kind: str = "") -> str:
    """Rows whose first cell is their heading; an empty second one is a line to write on."""
    top = "".join(f'<th scope="col">{_said(one)}</th>' for one in head)
    body = "".join(_row(row) for row in rows)
    below = f"<tfoot>{_row(foot)}</tfoot>" if foot else ""
    thead = f"<thead><tr>{top}</tr></thead>" if head else ""
    return f'<table class="{kind}">{thead}<tbody>{body}</tbody>{below}</table>'


def _row(row) -> str:
    first, *others = row
    blank = '<span class="blank"></span>'
    alone = len(others) == 1
    cells = "".join(f"<td>{_said(one) if one or not alone else blank}</td>" for one in others)
    return f'<tr><th scope="row">{_said(first)}</th>{cells}</tr>'


def _offer(part: dict) -> str:
    inside = f"<strong>{_said(part['headline'])}</strong>{_sentences(part['items'])}"
    box = f'<div class="offer" style="--bar:{palette.VERDICTS[part["verdict"]]}">{inside}</div>'
    return _section(part, box)


def _options(part: dict) -> str:
    table = _table(part["rows"], part["head"], kind="options")
    return _section(part, f'{_sentences(part["items"])}<div class="wide">{table}</div>')


def _pictures(pictures, files) -> str:
    return _pair(*(_section(one, _image(one["file"], one["words"], files)) for one in pictures))


def _image(name: str, words: str, files) -> str:
    data = base64.b64encode(files[name]).decode()
    kind = _TYPES[name.rpartition(".")[2]]
    return f'<img src="data:{kind};base64,{data}" alt="{escape(words, quote=True)}">'


def _price(part: dict) -> str:
    excluded = part["excluded"]
    below = f"<h3>{_said(excluded['title'])}</h3>{_points(excluded['items'])}"
    table = _table(part["rows"], foot=part["total"], kind="money") if part["rows"] else ""
    return _section(part, f"{table}{_sentences(part['items'])}{below}")


def _known(part: dict) -> str:
    groups = (
        f"<div><h3>{_said(group['title'])}</h3>{_table(group['rows'])}</div>"
        for group in part["groups"]
    )
    return _section(part, f'<div class="pair small">{"".join(groups)}</div>')


def _checks(part: dict) -> str:
    table = _table(part["rows"], part["head"], kind="small")
    return _section(part, f'<div class="wide">{table}</div>')


def _sign(part: dict) -> str:
    choices = "".join(f'<p><span class="box"></span>{_said(one)}</p>' for one in part["choices"])
    lines = [[one, ""] for one in part["lines"]]
    who = (f"<div><h3>{_said(one)}</h3>{_table(lines)}</div>" for one in part["who"])
    return _section(part, f"<p>{_said(part['sentence'])}</p>{choices}{_pair(*who)}", "sign")
