"""The page's style, and pieces of HTML in it. Every text is escaped."""

import base64
from html import escape

from airover.figures import palette
from airover.panels import style
from airover.panels.parts import Picture

STYLE = (
    f"<style>\n.ap {{ {palette.css('ap-')} }}"
    + """
.ap { max-width: 1180px; margin: 0 auto; padding: 4px 12px 40px;
  color: var(--ap-ink); background: white; font-size: 16px; line-height: 1.45;
  font-family: system-ui, -apple-system, "Segoe UI", Roboto, Arial, sans-serif; }
.ap, .ap .widget-box, .ap .jupyter-widgets { box-sizing: border-box; }
.ap.widget-box, .ap .widget-box { overflow: visible; }
.ap .widget-html, .ap .widget-html-content { margin: 0; line-height: inherit; height: auto;
  font-size: inherit; min-width: 0; width: 100%; }
.ap p { margin: 0 0 6px; }
.ap h1 { font-size: 22px; line-height: 1.25; margin: 8px 0 2px; font-weight: 650; }
.ap h2 { font-size: 18px; margin: 4px 0 6px; font-weight: 650; }
.ap h3 { font-size: 16px; margin: 14px 0 4px; font-weight: 650; }
.ap ul { margin: 0 0 6px; padding-left: 20px; }
.ap li { margin: 3px 0; }
.ap .ap-soft { color: var(--ap-soft); font-size: 14px; }
.ap input, .ap select, .ap button, .ap textarea { font-size: 16px !important; }
.ap .widget-text, .ap .widget-dropdown, .ap .widget-textarea, .ap .widget-slider {
  display: flex; flex-direction: column; align-items: stretch; width: 100%; margin: 0;
  height: auto; }
.ap .widget-slider { display: grid; grid-template-columns: auto 1fr; gap: 0 10px; }
.ap .widget-text .widget-label, .ap .widget-dropdown .widget-label,
.ap .widget-textarea .widget-label, .ap .widget-slider .widget-label { text-align: left;
  width: auto !important; max-width: none; font-weight: 600; font-size: 15px; height: auto;
  line-height: 1.35; padding: 0 0 2px; color: var(--ap-ink); overflow: visible; margin: 0; }
.ap .widget-text input, .ap .widget-dropdown select, .ap .widget-textarea textarea {
  min-height: 44px; width: 100%; border: 1px solid var(--ap-edge);
  border-radius: var(--ap-round); padding: 4px 10px;
  color: var(--ap-ink); background-color: white; }
.ap .widget-text input::placeholder { color: var(--ap-soft); opacity: 1; }
/* The widgets' own style takes the outline away, and says it is important. */
.ap.ap.ap.ap :focus-visible { outline: 3px solid var(--ap-strong) !important; outline-offset: 1px; }
.ap button.jupyter-button { min-height: 44px; height: auto; width: auto; padding: 4px 14px;
  margin: 0; border: 1px solid var(--ap-edge); border-radius: var(--ap-round); background: white;
  color: var(--ap-ink); box-shadow: none; line-height: 1.25; white-space: normal; }
.ap button.ap-main { background: var(--ap-strong); color: white; border-color: var(--ap-strong);
  font-weight: 600; }
.ap button.jupyter-button:disabled { opacity: 1; color: var(--ap-edge); border-style: dashed; }
.ap button.jupyter-button.ap-main:disabled { background: white; }
.ap button.ap-fold { width: 100%; text-align: left; font-weight: 650; background: var(--ap-wash);
  border-color: var(--ap-line); }
.ap .ap-row { flex-flow: row wrap; gap: 8px; align-items: flex-end; }
.ap .ap-files { display: flex; flex-flow: column; gap: 8px; align-items: flex-start;
  padding: 8px 0; }
.ap .ap-row > .widget-dropdown { width: auto; flex: 1 1 150px; }
.ap .ap-fields { display: grid; grid-template-columns: minmax(0, 1fr); gap: 0 16px; width: 100%;
  padding: 8px 2px 0; }
.ap .widget-dropdown select { flex: 0 0 auto; height: 44px; }
.ap .widget-text input { flex: 0 0 auto; height: 44px; }
.ap .widget-slider .slider-container { grid-area: 2 / 1 / 3 / 3; height: 44px; width: auto;
  margin: 0 14px; }
.ap .widget-slider .widget-readout { grid-area: 1 / 2; height: auto; min-width: 4em; width: 4em;
  min-height: 24px; font-size: 16px; font-weight: 650; text-align: left; padding: 0 4px; margin: 0;
  border: 1px solid var(--ap-line); border-radius: var(--ap-round); }
.ap .ap-stack { gap: 8px; }
.ap .ap-field { width: 100%; }
.ap .ap-help { min-height: 43px; font-size: 14px; line-height: 1.3; padding: 2px 0 4px;
  color: var(--ap-soft); }
.ap .ap-wrong { color: var(--ap-wrong); }
.ap .ap-wrong::before { content: "\\25b2\\00a0"; }
.ap .ap-status { min-height: 76px; font-size: 15px; position: sticky; top: 0; z-index: 20;
  background: white; border-bottom: 1px solid var(--ap-line); padding: 6px 0 2px; margin: 0 0 8px; }
.ap .ap-status .ap-problem { padding: 2px 10px; }
.ap .ap-status .ap-problem p { display: inline; }
.ap .ap-told { min-height: 32px; }
.ap .ap-panes { display: grid; grid-template-columns: minmax(0, 1fr); gap: 18px 28px;
  width: 100%; }
.ap .ap-card { border: 1px solid var(--ap-line); border-radius: 6px; padding: 10px 12px;
  margin: 0 0 10px; background: white; }
.ap .ap-verdict { border-left: var(--ap-heavy) solid var(--ap-bar); background: var(--ap-wash);
  padding: 10px 14px; margin: 0 0 10px; }
.ap .ap-verdict strong { display: block; font-size: var(--ap-headline); line-height: 1.3; }
.ap .ap-word { display: inline-block; border: 1px solid var(--ap-ink); border-radius: 3px;
  padding: 0 7px; font-size: 14px; font-weight: 600; margin: 0 6px 2px 0; white-space: nowrap; }
.ap .ap-caution { border: 1px solid var(--ap-caution);
  border-left-width: var(--ap-heavy); padding: 8px 12px;
  margin: 14px 0 0; background: var(--ap-caution-wash); font-size: 15px; }
.ap .ap-caution h2 { font-size: 16px; margin: 0 0 4px; }
.ap .ap-problem { border: 1px solid var(--ap-wrong); border-left-width: var(--ap-heavy);
  padding: 6px 12px; }
.ap dl { display: grid; grid-template-columns: minmax(7em, 2fr) 3fr; gap: 3px 12px; margin: 4px 0; }
.ap dt { font-weight: 400; color: var(--ap-soft); float: none; width: auto; }
.ap dd { margin: 0; float: none; width: auto; font-variant-numeric: tabular-nums; }
.ap table { border-collapse: collapse; width: 100%; font-size: 14.5px; margin: 4px 0;
  font-variant-numeric: tabular-nums; }
.ap th, .ap td { text-align: left; padding: 5px 8px 5px 0; vertical-align: top;
  border-bottom: 1px solid var(--ap-line); }
.ap th { font-weight: 600; color: var(--ap-soft); }
.ap tbody th { color: var(--ap-ink); font-weight: 400; }
.ap summary { cursor: pointer; font-weight: 650; padding: 10px 0; }
.ap details { border-top: 1px solid var(--ap-line); }
.ap img { display: block; max-width: 100%; height: auto; }
.ap a { color: var(--ap-strong); }
.ap a.ap-link { display: inline-block; min-height: 44px; box-sizing: border-box;
  padding: 9px 14px; border: 1px solid var(--ap-edge);
  border-radius: var(--ap-round); text-decoration: none; color: var(--ap-ink); background: white; }
.ap .ap-links { display: flex; flex-wrap: wrap; gap: 8px; margin: 6px 0 12px; }
.ap .ap-earlier .ap-answer { opacity: var(--ap-earlier); }
.ap .widget-tab { width: 100%; border: 0; }
.ap .widget-tab > .widget-tab-contents { border: 0; border-top: 2px solid var(--ap-strong);
  padding: 4px 0 0; overflow: visible; background: white; }
.ap .lm-TabBar, .ap .lm-TabBar-content { overflow: visible !important; }
.ap .lm-TabBar-content { align-items: stretch !important; flex-flow: row wrap; width: 100%;
  border: 0 !important;  display: flex !important; gap: 4px; }
.ap .widget-tab > .lm-TabBar { max-width: none; min-height: 0; width: 100%; }
.ap .widget-tab > .lm-TabBar .lm-TabBar-tab { flex: 1 1 45% !important;
  min-height: 46px !important;
  max-height: none; margin: 0 !important; min-width: 0 !important; max-width: none !important;
  border: 1px solid var(--ap-line) !important; border-bottom: 0 !important; padding: 6px 4px;
  display: flex; align-items: center; justify-content: center; text-align: center;
  background: var(--ap-wash) !important; color: var(--ap-ink) !important;
  transform: none !important;
  line-height: 1.2; border-radius: var(--ap-round) var(--ap-round) 0 0; height: auto;
  top: 0 !important; left: 0 !important;
  position: static !important; }
.ap .widget-tab > .lm-TabBar .lm-TabBar-tab.lm-mod-current {
  background: var(--ap-strong) !important;
  color: white !important; font-weight: 650; }
.ap .widget-tab > .lm-TabBar .lm-TabBar-tab.lm-mod-current::before { display: none; }
.ap .lm-TabBar-tabLabel { font-size: 15px; white-space: normal !important;
  overflow: visible !important; flex: 0 1 auto !important; text-overflow: clip; }
.ap .noUi-target, .ap .noUi-connects { background: var(--ap-edge); }
.ap .widget-slider .noUi-handle { background: var(--ap-strong); border: 0; width: 28px;
  height: 28px; border-radius: 14px; top: -12px; right: -14px; }
@media (min-width: 620px) {
  .ap .ap-fields { grid-template-columns: repeat(2, minmax(0, 1fr)); }
  .ap .widget-tab > .lm-TabBar .lm-TabBar-tab { flex: 1 1 0 !important; }
}
@media (min-width: 900px) {
  .ap .ap-panes { grid-template-columns: minmax(330px, 2fr) minmax(0, 3fr); }
  .ap .ap-panes .ap-fields { grid-template-columns: minmax(0, 1fr); }
  .ap .ap-panes .ap-wide .ap-fields { grid-template-columns: repeat(2, minmax(0, 1fr)); }
}
</style>"""
)


def title(sentence: str, texts) -> str:
    """The page's heading; in which language all is, and what a window is called, are in it."""
    window = escape(texts("frame.title"), quote=True)
    marks = f'data-language="{texts.language}" data-title="{window}"'
    return f"<h1 {marks}>{escape(sentence)}</h1>"


def text(sentence: str, tag: str = "p", kind: str = "") -> str:
    """A sentence in a ``tag``; nothing for an empty one."""
    of = f' class="ap-{kind}"' if kind else ""
    return f"<{tag}{of}>{escape(sentence)}</{tag}>" if sentence else ""


def verdict(word: str, sentence: str, *below: str) -> str:
    """The answer on top; ``word`` ("fits", ...) only chooses the bar's colour."""
    more = "".join(text(one) for one in below)
    return (
        f'<div class="ap-verdict" style="--ap-bar:{palette.VERDICTS[word]}">'
        f"<strong data-aloud>{escape(sentence)}</strong>{more}</div>"
    )


def status(sentence: str) -> str:
    """How things stand; what has ``data-aloud`` is read out by the frame when it appears."""
    return f"<p data-aloud>{escape(sentence)}</p>"


ANCHOR = '<span id="ap-answer"></span>'


def answered(sentence: str, state: str) -> str:
    """The answer in short with a way down to it, and that it is of now."""
    inside = f'<a href="#ap-answer">{escape(sentence)}</a> {escape(state)}'
    return f"<p data-aloud>{inside}</p>"


def problem(*sentences: str) -> str:
    """What is wrong, a sentence each."""
    said = " ".join(text(one) for one in sentences)
    return f'<div class="ap-problem" data-aloud>{said}</div>'


def wrong(sentence: str) -> str:
    """What is wrong with a field; its mark does not rest on colour."""
    return f'<span class="ap-wrong" data-aloud>{escape(sentence)}</span>'


def listed(title: str, sentences, tag: str = "h3") -> str:
    """A heading and its sentences; nothing when there are none."""
    items = "".join(text(one, "li") for one in sentences)
    return f"{text(title, tag)}<ul>{items}</ul>" if items else ""


def facts(pairs) -> str:
    """Names and what they are; those without a value are left out."""
    rows = "".join(f"{text(a, 'dt')}<dd>{escape(b)}</dd>" for a, b in pairs if b)
    return f"<dl>{rows}</dl>"


def table(heads, rows, caption: str = "") -> str:
    """Rows of texts under their heads, the first of each naming its row."""
    top = "".join(f'<th scope="col">{escape(one)}</th>' for one in heads)
    body = "".join(
        f'<tr><th scope="row">{escape(first)}</th>'
        + "".join(f"<td>{escape(one)}</td>" for one in rest)
        + "</tr>"
        for first, *rest in rows
    )
    named = text(caption, "caption")
    return f"<table>{named}<thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"


def folded(title: str, inside: str) -> str:
    """HTML behind a title that opens it."""
    return f"<details><summary>{escape(title)}</summary>{inside}</details>"


def card(*parts: str) -> str:
    return f'<div class="ap-card">{"".join(parts)}</div>'


def caution(title: str, sentences) -> str:
    return f'<div class="ap-caution">{listed(title, sentences, "h2")}</div>'


def picture(shown: Picture, width: int) -> str:
    """A picture with its words for who cannot see it, ``width`` pixels wide or less."""
    return style.image(shown.png, shown.words, width)


def link(name: str, content: bytes, kind: str, words: str) -> str:
    """A link that saves ``content`` as a file ``name``; nothing is asked of any server."""
    data = base64.b64encode(content).decode()
    return (
        f'<a class="ap-link" download="{escape(name, quote=True)}" '
        f'href="data:{kind};base64,{data}">{escape(words)}</a>'
    )


def row(*parts: str) -> str:
    """Parts beside each other, as far as there is room."""
    return f'<div class="ap-links">{"".join(parts)}</div>'
