"""Pieces of a page as HTML, in the one style of all panels. Every text is escaped."""

import base64
from html import escape

from airover.figures import palette
from airover.tables import writing
from airover.texts import Writer

# Colours come from JupyterLab's own theme where there is one; words carry every meaning.
STYLE = (
    f"""<style>
.airover {{ {palette.css("ao-")}
  --ao-line: var(--jp-border-color2, {palette.RULE});
  --ao-soft: color-mix(in srgb, var(--jp-content-font-color1, {palette.INK}) 75%, transparent);
  --ao-wash: var(--jp-layout-color2, {palette.WASH}); }}
"""
    + """
.airover { max-width: 1120px; font-size: 13px; line-height: 1.45; }
.airover .widget-html-content, .airover .jupyter-widgets { line-height: 1.45; }
.airover .widget-html > .widget-html-content { width: 100%; }
.airover p { margin: 0 0 6px; }
.airover h4 { margin: 10px 0 4px; font-size: 13px; font-weight: 600; }
.airover ul { margin: 0; padding-left: 18px; }
.airover li { margin: 2px 0; }
.airover .ao-verdict { border-left: var(--ao-heavy) solid var(--ao-bar); padding: 8px 14px;
  margin: 0 0 8px; background: var(--ao-wash); }
.airover .ao-top { align-items: flex-start; min-height: 46px; margin: 0 0 4px; overflow: visible; }
.airover .ao-top button { width: auto; flex: 0 0 auto; }
.airover .ao-status { flex: 1 1 0; min-width: 0; height: 44px; margin: 0 0 0 4px;
  overflow: auto; }
.airover .ao-status .ao-problem { margin: 0; padding: 1px 10px; }
.airover .ao-status p { display: inline; margin: 0 6px 0 0; }
.airover .ao-told { height: 62px; overflow: auto; }
.airover .ao-beside { height: 0; margin: 0; overflow: visible; position: relative; z-index: 3;
  pointer-events: none; }
.airover .ao-beside .ao-problem { position: absolute; top: 0; left: 100px; right: 4px; margin: 0;
  padding: 3px 8px; background: var(--jp-layout-color0, white);
  box-shadow: 0 3px 8px rgba(0, 0, 0, 0.25); }
.airover .ao-beside p { margin: 0; }
.airover .ao-controls .widget-box { overflow: visible; }
.airover .ao-page { padding-bottom: 44px; } /* room for what stands at the last field */
.airover .ao-both { align-items: flex-start; }
.airover .ao-controls { flex: 0 0 384px; }
.airover .ao-result { flex: 1 1 0; min-width: 0; padding: 0 0 0 22px; }
.airover .ao-answer { transition: opacity 0.15s 0.2s; }
@media (max-width: 760px) {
  .airover .ao-both { flex-direction: column; align-items: stretch; }
  .airover .ao-controls { flex-basis: auto; }
  .airover .ao-status { height: 84px; }
  .airover .ao-result { padding: 8px 0 0; }
}
.airover .ao-verdict strong { display: block; font-size: var(--ao-headline); line-height: 1.35; }
.airover .ao-steady .ao-verdict { box-sizing: border-box; min-height: 122px; }
.airover .ao-verdict span { display: block; color: var(--ao-soft); }
.airover .ao-problem { border: 1px solid var(--ao-wrong); border-left-width: var(--ao-heavy);
  padding: 6px 12px; margin: 0 0 8px; }
.airover .ao-quiet { color: var(--ao-soft); }
.airover table { border-collapse: collapse; width: 100%; font-size: 12.5px; margin: 0 0 6px;
  font-variant-numeric: tabular-nums; }
.airover table th, .airover table td { text-align: left !important; padding: 3px 12px 3px 0;
  vertical-align: top; border: 0; border-bottom: 1px solid var(--ao-line); background: none;
  white-space: normal; max-width: none; }
.airover table th { font-weight: 600; color: var(--ao-soft); }
.airover table.ao-figures td:not(:last-child) { white-space: nowrap; }
.airover table.ao-narrow { width: auto; }
.airover details { margin: 0; border-top: 1px solid var(--ao-line); padding: 6px 0; }
.airover summary { cursor: pointer; font-weight: 600; }
.airover .ao-long { max-height: 340px; overflow: auto; margin-top: 6px; }
.airover .lm-TabBar .lm-TabBar-tab { flex: 1 1 auto !important;
  padding: 0 6px; }
.airover img { max-width: 100%; height: auto; background: white; }
.airover.ao-earlier .ao-answer { opacity: var(--ao-earlier); }
</style>"""
)


def verdict(word: str, sentence: str, below: str) -> str:
    """The verdict sentence on top; ``word`` (fits, ...) only chooses the bar's colour."""
    return (
        f'<div class="ao-verdict" style="--ao-bar:{palette.VERDICTS[word]}">'
        f"<strong>{escape(sentence)}</strong><span>{escape(below)}</span></div>"
    )


def problem(*sentences: str) -> str:
    """What is wrong with the input, one paragraph for each sentence."""
    texts = "".join(f"<p>{escape(sentence)}</p>" for sentence in sentences)
    return f'<div class="ao-problem" role="alert">{texts}</div>'


def quiet(sentence: str) -> str:
    """A sentence in the background."""
    return f'<p class="ao-quiet">{escape(sentence)}</p>'


def written(paths, replaced: bool) -> str:
    """The names of the files that were written, and where."""
    names = ", ".join(path.name for path in paths)
    earlier = " They took the place of earlier ones." if replaced else ""
    return quiet(f"Written: {names}, in {paths[0].parent}.{earlier}")


def heading(text: str) -> str:
    """A small heading."""
    return f"<h4>{escape(text)}</h4>"


def listed(title: str, sentences) -> str:
    """A heading and its sentences as a list; nothing when there are none."""
    items = "".join(f"<li>{escape(Writer().value(sentence))}</li>" for sentence in sentences)
    return f"{heading(title)}<ul>{items}</ul>" if items else ""


def table(frame, kind: str = "") -> str:
    """A table (pandas), whole.

    ``kind`` "figures" keeps all but the last column on one line, "narrow" takes little room.
    """
    return writing.html(frame, f"ao-{kind}" if kind else None)


def folded(title: str, *parts: str) -> str:
    """``parts`` (HTML) behind a title that opens them, scrolling when long."""
    inside = "".join(parts)
    title = escape(title)
    return f'<details><summary>{title}</summary><div class="ao-long">{inside}</div></details>'


def image(png: bytes, words: str, width: int) -> str:
    """A PNG picture, ``width`` pixels wide, with its ``words`` for who cannot see it."""
    data = base64.b64encode(png).decode()
    alt = escape(words, quote=True)
    return f'<img src="data:image/png;base64,{data}" alt="{alt}" width="{width}">'


def working(earlier: str) -> str:
    """A page that is being worked: the ``earlier`` one, if any, stays and is said to be that."""
    if not earlier:
        return quiet("Working: this may take a second or two ...")
    told = quiet("Working; what stands below is of the earlier input.")
    return f'{told}<div style="opacity: {palette.STYLES["earlier"]}">{earlier}</div>'
