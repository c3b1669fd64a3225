"""Create the HTML elements of a panel in a common style, with all text escaped.

A panel is either part of a worksheet or part of a page. In a worksheet (``ao-sheet``), it is
compact and uses the colors of the JupyterLab theme. On a page (``ao-page``), it is large enough for
touch input. No information is conveyed by color alone.
"""

import base64
from html import escape

from airover.core.texts import Writer
from airover.reports import palette, writing

# On paper, folds are open, tables are complete, and nothing is left to click.
PRINT = """<style>
@media print {
  details::details-content { content-visibility: visible; display: block; block-size: auto; }
  tr, img, .ao-bars li, .MathJax_Display { break-inside: avoid; }
  h1, h2, h3, h4, summary { break-after: avoid; }
  th, td { white-space: normal !important; max-width: none !important; }
  .ao-long, .ao-scroll, .jp-OutputArea-output { max-height: none !important;
    overflow: visible !important; }
  .ao-verdict, .ao-bar, .ao-bar * { print-color-adjust: exact; }
  .ao-screen, .airover button, .ao-job-told, .ao-told { display: none !important; }
}
</style>"""
STYLE = PRINT + (
    f"""<style>
.airover {{ {palette.css("ao-")} }}
.ao-sheet {{ --ao-line: var(--jp-border-color2, {palette.RULE});
  --ao-soft: color-mix(in srgb, var(--jp-content-font-color1, {palette.INK}) 75%, transparent);
  --ao-wash: var(--jp-layout-color2, {palette.WASH}); }}
"""
    + """
.airover p { margin: 0 0 6px; }
.airover ul { margin: 0 0 6px; padding-left: 20px; }
.airover li { margin: 2px 0; }
.airover summary { cursor: pointer; font-weight: 600; }
.airover img { display: block; max-width: 100%; height: auto; background: white; }
.airover .ao-soft { color: var(--ao-soft); }
.airover .ao-verdict { border-left: var(--ao-heavy) solid var(--ao-bar); padding: 8px 14px;
  margin: 0 0 8px; background: var(--ao-wash); }
.airover .ao-verdict strong { display: block; font-size: var(--ao-headline); line-height: 1.35; }
.airover .ao-problem { border: 1px solid var(--ao-wrong); border-left-width: var(--ao-heavy);
  padding: 6px 12px; }
.airover .ao-scroll { overflow-x: auto; max-width: 100%; }
.airover .ao-bars { margin: 2px 0 8px; }
.airover .ao-bars ul { list-style: none; padding: 0; margin: 0; }
.airover .ao-bars li { margin: 4px 0 7px; }
.airover .ao-bars li > span:first-child { font-weight: 600; }
.airover .ao-bar { position: relative; height: 14px; margin: 2px 0; background: var(--ao-wash);
  border: 1px solid var(--ao-line); }
.airover .ao-bar i { position: absolute; inset: 0 auto 0 0; background: var(--ao-strong); }
.airover .ao-bar b { position: absolute; top: 3px; bottom: 3px; box-sizing: border-box;
  border: 1.5px solid var(--ao-ink); background: white; opacity: 0.75; }
.airover .ao-bar u { position: absolute; top: -4px; bottom: -4px; border-left: 3px solid
  var(--ao-wrong); }
.airover .ao-limit { height: 18px; position: relative; color: var(--ao-wrong); font-size: 13px; }
.airover .ao-limit span { position: absolute; left: 75%; transform: translateX(-50%); }
.airover .ao-answer { transition: opacity 0.15s 0.2s; }
.airover.ao-earlier .ao-answer, .airover .ao-earlier .ao-answer { opacity: var(--ao-earlier); }
.airover.ao-earlier .ao-answer .ao-answer { opacity: 1; }

.ao-sheet { max-width: 1120px; font-size: 13px; line-height: 1.45; }
.ao-sheet .widget-html-content, .ao-sheet .jupyter-widgets { line-height: 1.45; }
.ao-sheet .widget-html > .widget-html-content { width: 100%; }
.ao-sheet h4 { margin: 10px 0 4px; font-size: 13px; font-weight: 600; }
.ao-sheet .ao-problem { margin: 0 0 8px; }
.ao-sheet .ao-top { align-items: flex-start; min-height: 46px; margin: 0 0 4px; overflow: visible; }
.ao-sheet .ao-top button { width: auto; flex: 0 0 auto; }
.ao-sheet .ao-job { margin: 0 0 6px; padding: 0 0 4px; border-bottom: 1px solid var(--ao-line); }
.ao-sheet .ao-job-bar, .ao-sheet .ao-job-notice { flex-flow: row wrap; align-items: center;
  gap: 2px 4px; overflow: visible; }
.ao-sheet .ao-job-bar > .widget-html { flex: 1 1 230px; min-width: 200px; }
.ao-sheet .ao-job-bar p, .ao-sheet .ao-job-notice .ao-problem { margin: 0; }
.ao-sheet .ao-job-bar button, .ao-sheet .ao-job-notice button { width: auto; flex: 0 0 auto; }
.ao-sheet.ao-blank .ao-both .ao-answer, .ao-sheet.ao-blank .ao-below .ao-answer {
  display: none !important; }
/* Hide the stored answer while the panel itself is displayed. */
.jp-OutputArea:has(.ao-sheet) > .jp-OutputArea-child:not(:has(.ao-sheet)) { display: none; }
.ao-sheet .ao-status { flex: 1 1 0; min-width: 0; height: 44px; margin: 0 0 0 4px;
  overflow: auto; }
.ao-sheet .ao-status .ao-problem { margin: 0; padding: 1px 10px; }
.ao-sheet .ao-status p { display: inline; margin: 0 6px 0 0; }
.ao-sheet .ao-told { height: 62px; overflow: auto; }
.ao-sheet .ao-help { height: 0; margin: 0; overflow: visible; position: relative; z-index: 3;
  pointer-events: none; }
.ao-sheet .ao-help .ao-wrong { position: absolute; top: 0; left: 100px; right: 4px; margin: 0;
  padding: 3px 8px; background: var(--jp-layout-color0, white); line-height: 1.45;
  border: 1px solid var(--ao-wrong); border-left-width: var(--ao-heavy);
  box-shadow: 0 3px 8px rgba(0, 0, 0, 0.25); }
.ao-sheet .ao-controls .widget-box { overflow: visible; }
.ao-sheet .ao-field .widget-label { white-space: normal; height: auto; line-height: 1.2;
  align-self: center; }
.ao-sheet .ao-tab { padding-bottom: 44px; } /* space for the help text of the last field */
.ao-sheet .ao-both { align-items: flex-start; }
.ao-sheet .ao-controls { flex: 0 0 384px; }
.ao-sheet .ao-result { flex: 1 1 0; min-width: 0; padding: 0 0 0 22px; }
@media (max-width: 760px) {
  .ao-sheet .ao-both { flex-direction: column; align-items: stretch; }
  .ao-sheet .ao-controls { flex-basis: auto; }
  .ao-sheet .ao-status { height: 84px; }
  .ao-sheet .ao-result { padding: 8px 0 0; }
}
.ao-sheet .ao-steady .ao-verdict { box-sizing: border-box; min-height: 122px; }
.ao-sheet .ao-verdict p { color: var(--ao-soft); margin: 0; }
.ao-sheet table { border-collapse: collapse; width: 100%; font-size: 12.5px; margin: 0 0 6px;
  font-variant-numeric: tabular-nums; }
.ao-sheet table th, .ao-sheet table td { text-align: left !important; padding: 3px 12px 3px 0;
  vertical-align: top; border: 0; border-bottom: 1px solid var(--ao-line); background: none;
  white-space: normal; max-width: none; }
.ao-sheet table th { font-weight: 600; color: var(--ao-soft); }
.ao-sheet table.ao-figures td:not(:last-child) { white-space: nowrap; }
.airover table.ao-loads td:first-child { min-width: 9em; }
.ao-sheet table.ao-narrow { width: auto; }
.ao-sheet details { margin: 0; border-top: 1px solid var(--ao-line); padding: 6px 0; }
.ao-sheet .ao-long { max-height: 340px; overflow: auto; margin-top: 6px; }
.ao-sheet .widget-tab > .lm-TabBar { overflow: visible; height: auto; max-height: none; }
.ao-sheet .widget-tab > .lm-TabBar .lm-TabBar-content { flex-wrap: wrap; }
.ao-sheet .lm-TabBar .lm-TabBar-tab { flex: 1 0 auto !important; min-width: max-content !important;
  padding: 0 6px; }
.ao-sheet .ao-controls .lm-TabBar .lm-TabBar-tab { padding: 0 4px; font-size: 12px; }
.jp-RenderedHTML table.dataframe td:not(:last-child) { white-space: nowrap; }
.ao-sheet .ao-controls .widget-inline-hbox > .widget-label { white-space: normal; overflow: visible;
  line-height: 1.15; align-self: center; height: auto; }
.ao-sheet .widget-slider .widget-readout { flex: 0 0 auto; width: auto; max-width: none;
  overflow: visible; white-space: nowrap; }
.ao-sheet .widget-slider .slider-container { flex: 1 1 60px; min-width: 50px; width: auto; }

.ao-page { max-width: 1180px; margin: 0 auto; padding: 4px 12px 40px;
  color: var(--ao-ink); background: white; font-size: 16px; line-height: 1.45;
  font-family: system-ui, -apple-system, "Segoe UI", Roboto, Arial, sans-serif; }
.ao-page, .ao-page .widget-box, .ao-page .jupyter-widgets { box-sizing: border-box; }
.ao-page.widget-box, .ao-page .widget-box { overflow: visible; }
.ao-page .widget-html, .ao-page .widget-html-content { margin: 0; line-height: inherit; height: auto;
  font-size: inherit; min-width: 0; width: 100%; }
.ao-page .ao-soft { font-size: 14px; }
.ao-page .ao-scroll img { max-width: none; }
.ao-page summary { padding: 10px 0; }
.ao-page h1 { font-size: 22px; line-height: 1.25; margin: 8px 0 2px; font-weight: 650; }
.ao-page h2 { font-size: 18px; margin: 4px 0 6px; font-weight: 650; }
.ao-page h3 { font-size: 16px; margin: 14px 0 4px; font-weight: 650; }
.ao-page input, .ao-page select, .ao-page button, .ao-page textarea { font-size: 16px !important; }
.ao-page .widget-text, .ao-page .widget-dropdown, .ao-page .widget-textarea, .ao-page .widget-slider {
  display: flex; flex-direction: column; align-items: stretch; width: 100%; margin: 0;
  height: auto; }
.ao-page .widget-slider { display: grid; grid-template-columns: auto 1fr; gap: 0 10px; }
.ao-page .widget-text .widget-label, .ao-page .widget-dropdown .widget-label,
.ao-page .widget-textarea .widget-label, .ao-page .widget-slider .widget-label { text-align: left;
  width: auto !important; max-width: none; font-weight: 600; font-size: 15px; height: auto;
  line-height: 1.35; padding: 0 0 2px; color: var(--ao-ink); overflow: visible; margin: 0; }
.ao-page .widget-text input, .ao-page .widget-dropdown select, .ao-page .widget-textarea textarea {
  min-height: 44px; width: 100%; border: 1px solid var(--ao-edge);
  border-radius: var(--ao-round); padding: 4px 10px;
  color: var(--ao-ink); background-color: white; }
.ao-page .widget-text input::placeholder { color: var(--ao-soft); opacity: 1; }
/* Override the widgets' style, which removes the outline with !important. */
.ao-page.ao-page.ao-page.ao-page :focus-visible { outline: 3px solid var(--ao-strong) !important; outline-offset: 1px; }
.ao-page button.jupyter-button { min-height: 44px; height: auto; width: auto; padding: 4px 14px;
  margin: 0; border: 1px solid var(--ao-edge); border-radius: var(--ao-round); background: white;
  color: var(--ao-ink); box-shadow: none; line-height: 1.25; white-space: normal; }
.ao-page button.ao-main { background: var(--ao-strong); color: white; border-color: var(--ao-strong);
  font-weight: 600; }
.ao-page button.jupyter-button:disabled { opacity: 1; color: var(--ao-edge); border-style: dashed; }
.ao-page button.jupyter-button.ao-main:disabled { background: white; }
.ao-page button.ao-fold { width: 100%; text-align: left; font-weight: 650; background: var(--ao-wash);
  border-color: var(--ao-line); }
.ao-page .ao-row { flex-flow: row wrap; gap: 8px; align-items: flex-end; }
.ao-page .ao-files { display: flex; flex-flow: column; gap: 8px; align-items: flex-start;
  padding: 8px 0; }
.ao-page .ao-row > .widget-dropdown { width: auto; flex: 1 1 150px; }
.ao-page .ao-fields { display: grid; grid-template-columns: minmax(0, 1fr); gap: 0 16px; width: 100%;
  padding: 8px 2px 0; }
.ao-page .widget-checkbox .widget-label-basic { font-size: 15px; font-weight: 600; height: auto;
  min-height: 28px; line-height: 1.35; white-space: normal; }
.ao-page .widget-checkbox input { width: 24px; height: 24px; }
.ao-page .widget-dropdown select { flex: 0 0 auto; height: 44px; }
.ao-page .widget-text input { flex: 0 0 auto; height: 44px; }
.ao-page .widget-slider input[type="range"] { grid-area: 2 / 1 / 3 / 3; height: 44px; width: auto;
  margin: 0; }
.ao-page .widget-slider .widget-readout { grid-area: 1 / 2; height: auto; min-width: 4em; width: 4em;
  min-height: 24px; font-size: 16px; font-weight: 650; text-align: left; padding: 0 4px; margin: 0;
  border: 1px solid var(--ao-line); border-radius: var(--ao-round); }
.ao-page .ao-stack { gap: 8px; }
.ao-page .ao-field { width: 100%; }
.ao-page .ao-help { min-height: 43px; font-size: 14px; line-height: 1.3; padding: 2px 0 4px;
  color: var(--ao-soft); }
.ao-page .ao-wrong { color: var(--ao-wrong); }
.ao-page .ao-wrong::before { content: "\\25b2\\00a0"; }
.ao-page .ao-status { min-height: 76px; font-size: 15px; position: sticky; top: 0; z-index: 20;
  background: white; border-bottom: 1px solid var(--ao-line); padding: 6px 0 2px; margin: 0 0 8px; }
.ao-page .ao-status .ao-problem { padding: 2px 10px; }
.ao-page .ao-status .ao-problem p { display: inline; }
.ao-page .ao-told { min-height: 32px; }
.ao-page .ao-panes { display: grid; grid-template-columns: minmax(0, 1fr); gap: 18px 28px;
  width: 100%; }
.ao-page .ao-card { border: 1px solid var(--ao-line); border-radius: 6px; padding: 10px 12px;
  margin: 0 0 10px; background: white; }
.ao-page .ao-word { display: inline-block; border: 1px solid var(--ao-ink); border-radius: 3px;
  padding: 0 7px; font-size: 14px; font-weight: 600; margin: 0 6px 2px 0; white-space: nowrap; }
.ao-page .ao-caution { border: 1px solid var(--ao-caution);
  border-left-width: var(--ao-heavy); padding: 8px 12px;
  margin: 14px 0 0; background: var(--ao-caution-wash); font-size: 15px; }
.ao-page .ao-caution h2 { font-size: 16px; margin: 0 0 4px; }
.ao-page dl { display: grid; grid-template-columns: minmax(7em, 2fr) 3fr; gap: 3px 12px; margin: 4px 0; }
.ao-page dt { font-weight: 400; color: var(--ao-soft); float: none; width: auto; }
.ao-page dd { margin: 0; float: none; width: auto; font-variant-numeric: tabular-nums; }
.ao-page table { border-collapse: collapse; width: 100%; font-size: 14.5px; margin: 4px 0;
  font-variant-numeric: tabular-nums; }
.ao-page th, .ao-page td { text-align: left; padding: 5px 8px 5px 0; vertical-align: top;
  border-bottom: 1px solid var(--ao-line); }
.ao-page th { font-weight: 600; color: var(--ao-soft); }
.ao-page tbody th { color: var(--ao-ink); font-weight: 400; }
.ao-page details { border-top: 1px solid var(--ao-line); }
.ao-page a { color: var(--ao-strong); }
.ao-page a.ao-link { display: inline-block; min-height: 44px; box-sizing: border-box;
  padding: 9px 14px; border: 1px solid var(--ao-edge);
  border-radius: var(--ao-round); text-decoration: none; color: var(--ao-ink); background: white; }
.ao-page .ao-links { display: flex; flex-wrap: wrap; gap: 8px; margin: 6px 0 12px; }
.ao-page .widget-tab { width: 100%; border: 0; }
.ao-page .widget-tab > .widget-tab-contents { border: 0; border-top: 2px solid var(--ao-strong);
  padding: 4px 0 0; overflow: visible; background: white; }
.ao-page .widget-tabs { display: flex; flex-flow: row wrap; align-items: stretch; gap: 4px; }
.ao-page .widget-tabs > button { flex: 1 1 45%; min-height: 46px; min-width: 0; padding: 6px 4px;
  border: 1px solid var(--ao-line); border-bottom: 0; line-height: 1.2; font-size: 15px;
  border-radius: var(--ao-round) var(--ao-round) 0 0; background: var(--ao-wash);
  color: var(--ao-ink); }
.ao-page .widget-tabs > [aria-selected="true"] { background: var(--ao-strong); color: white;
  font-weight: 650; }
.ao-page input[type="range"] { accent-color: var(--ao-strong); }
@media (min-width: 620px) {
  .ao-page .ao-fields { grid-template-columns: repeat(2, minmax(0, 1fr)); }
  .ao-page .widget-tabs > button { flex: 1 1 0; }
}
@media (min-width: 900px) {
  .ao-page .ao-panes { grid-template-columns: minmax(330px, 2fr) minmax(0, 3fr); }
  .ao-page .ao-panes .ao-fields { grid-template-columns: minmax(0, 1fr); }
  .ao-page .ao-panes .ao-wide .ao-fields { grid-template-columns: repeat(2, minmax(0, 1fr)); }
}
</style>"""
)


def shown(sentence: str) -> str:
    """Escape ``sentence`` for display, so that no part of it is typeset as an equation."""
    return writing.no_equation(escape(sentence))


def text(sentence: str, tag: str = "p", kind: str = "") -> str:
    """Wrap a sentence in ``tag``, or return an empty string if the sentence is empty."""
    of = f' class="ao-{kind}"' if kind else ""
    return f"<{tag}{of}>{shown(sentence)}</{tag}>" if sentence else ""


def quiet(sentence: str) -> str:
    """Return a sentence in muted text."""
    return text(sentence, "p", "soft")


def heading(title: str) -> str:
    """Return a small heading."""
    return text(title, "h4")


def title(sentence: str, texts) -> str:
    """Return the page heading, which also sets the page's language and window title."""
    window = escape(texts("frame.title"), quote=True)
    marks = f'data-language="{texts.language}" data-title="{window}"'
    return f"<h1 {marks}>{shown(sentence)}</h1>"


def verdict(word: str, sentence: str, *below: str) -> str:
    """Return the verdict with a color bar for ``word``, such as "fits"."""
    more = "".join(map(text, below))
    return (
        f'<div class="ao-verdict" style="--ao-bar:{palette.VERDICTS[word]}">'
        f"<strong data-aloud>{shown(sentence)}</strong>{more}</div>"
    )


def named(title: str, name: str, state: str) -> str:
    """Return a paragraph with a title, a ``name`` in bold and a state."""
    return f"<p>{shown(title)} <b>{shown(name)}</b> \N{MIDDLE DOT} {shown(state)}</p>"


def status(sentence: str) -> str:
    """Return a status, which is marked with ``data-aloud`` so that screen readers announce it."""
    return f"<p data-aloud>{shown(sentence)}</p>"


ANCHOR = '<span id="ao-answer"></span>'


def answered(sentence: str, state: str) -> str:
    """Return the short answer as a link to the full answer, with its state."""
    inside = f'<a href="#ao-answer">{shown(sentence)}</a> {shown(state)}'
    return f"<p data-aloud>{inside}</p>"


def problem(*sentences: str) -> str:
    """Return an error message, with one paragraph per sentence."""
    told = " ".join(map(text, sentences))
    return f'<div class="ao-problem" role="alert" data-aloud>{told}</div>'


def wrong(sentence: str) -> str:
    """Return the error message for a field, styled so that it does not depend on color."""
    return f'<span class="ao-wrong" data-aloud>{shown(sentence)}</span>'


def written(paths, replaced: bool, write: Writer) -> str:
    """Return a sentence with the names and folder of the files that were written."""
    names = ", ".join(path.name for path in paths)
    key = "panel.written_again" if replaced else "panel.written"
    return quiet(write(key, names=names, folder=str(paths[0].parent)))


def listed(title: str, sentences, tag: str = "h4") -> str:
    """Return a heading and a list of sentences, or an empty string if there are none."""
    items = "".join(text(Writer().value(one), "li") for one in sentences)
    return f"{text(title, tag)}<ul>{items}</ul>" if items else ""


def facts(pairs) -> str:
    """Return names and values as a description list, omitting empty values."""
    rows = "".join(f"{text(a, 'dt')}<dd>{shown(b)}</dd>" for a, b in pairs if b)
    return f"<dl>{rows}</dl>"


def table(frame, kind: str = "") -> str:
    """Return a table (pandas) as HTML with all of its rows.

    Parameters
    ----------
    kind : str, optional
        Style of the table. "figures" keeps every column but the last on one line, and "narrow"
        saves space.
    """
    return scrolled(writing.html(frame, f"ao-{kind}" if kind else ""))


def scrolled(html: str) -> str:
    """Return a table or plot that can be scrolled sideways with the mouse or the keyboard."""
    return f'<div class="ao-scroll" tabindex="0">{html}</div>'


LIMIT = 75.0  # position of the limit as a percentage of the bar length


def bar(name: str, words: str, low: float, mid: float, high: float) -> str:
    """Return a bar filled up to ``mid`` with a mark for its range, where 1 is the limit.

    Parameters
    ----------
    words : str
        Values for the bar as text.
    """
    low, mid, high = (min(max(LIMIT * one, 0.0), 100.0) for one in (low, mid, high))
    return (
        f'<li><span>{shown(name)}</span> <span class="ao-of">{shown(words)}</span>'
        f'<div class="ao-bar" aria-hidden="true"><i style="width:{mid:.1f}%"></i>'
        f'<b style="left:{low:.1f}%;width:{high - low:.1f}%"></b>'
        f'<u style="left:{LIMIT}%"></u></div></li>'
    )


def bars(rows, limit: str) -> str:
    """Return a column of bars with a shared limit line labeled ``limit``."""
    mark = f'<div class="ao-limit" aria-hidden="true"><span>{shown(limit)}</span></div>'
    return f'<div class="ao-bars">{mark}<ul>{"".join(rows)}</ul></div>'


def rows(heads, rows, caption: str = "") -> str:
    """Return a table of text with column headings and row headings."""
    top = "".join(f'<th scope="col">{shown(one)}</th>' for one in heads)
    body = "".join(
        f'<tr><th scope="row">{shown(first)}</th>'
        + "".join(f"<td>{shown(one)}</td>" for one in rest)
        + "</tr>"
        for first, *rest in rows
    )
    named = text(caption, "caption")
    return f"<table>{named}<thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"


def folded(title: str, *parts: str) -> str:
    """Return ``parts`` (HTML) as a collapsible section."""
    inside = "".join(parts)
    title = shown(title)
    return f'<details><summary>{title}</summary><div class="ao-long">{inside}</div></details>'


def card(*parts: str) -> str:
    """Return ``parts`` (HTML) in a frame."""
    return f'<div class="ao-card">{"".join(parts)}</div>'


def caution(title: str, sentences) -> str:
    """Return cautions in a prominent frame."""
    return f'<div class="ao-caution">{listed(title, sentences, "h2")}</div>'


def image(content: bytes, words: str, width: int, kind: str = "png") -> str:
    """Return an image at most ``width`` pixels wide, with ``words`` as alternative text."""
    data = base64.b64encode(content).decode()
    alt = escape(words, quote=True)
    return f'<img src="data:image/{kind};base64,{data}" alt="{alt}" width="{width}">'


def link(name: str, content: bytes, kind: str, words: str) -> str:
    """Return a link that saves ``content`` as the file ``name`` without contacting the server."""
    data = base64.b64encode(content).decode()
    return (
        f'<a class="ao-link" download="{escape(name, quote=True)}" '
        f'href="data:{kind};base64,{data}">{shown(words)}</a>'
    )


def row(*parts: str) -> str:
    """Return ``parts`` (HTML) side by side if there is enough space."""
    return f'<div class="ao-links">{"".join(parts)}</div>'


def faded(html: str) -> str:
    """Return HTML that is dimmed because it is outdated."""
    return f'<div style="opacity: {palette.STYLES["earlier"]}">{html}</div>'
