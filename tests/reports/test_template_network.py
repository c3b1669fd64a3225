"""A proposal template looks for no way out of a network that has none: run in one of its own."""

import json
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from airover.core.errors import InputError
from airover.reports import proposal
from tests import cut_off

PACKAGE = "preview/cetz:0.3.0"
ORDINARY = "We include the removal of the old motor. #let a = 2 // include all\n#a"
# Each would download a package, or read one whose name is put together by code.
TEMPLATES = (
    f'#import "@{PACKAGE}": *',
    f'#import("@{PACKAGE}")',
    f'#include "@{PACKAGE}"',
    f'#  import "@{PACKAGE}"',
    f'#import"\\u{{40}}{PACKAGE}"',
    f'#let name = "\\u{{40}}{PACKAGE}"\n#import name: *',
    f'#let name = "\\u{{40}}{PACKAGE}"\n#{{ import name }}',
    f'#let f() = {{ let x = 1; import "\\u{{40}}{PACKAGE}"\nx }}\n#f()',
    f'#{{\n  import ("\\u{{40}}" + "{PACKAGE}")\n}}',
    f'#eval("import \\"\\u{{40}}{PACKAGE}\\"")',
    f'#let run = eval\n#run("include \\"\\u{{40}}{PACKAGE}\\"")',
    f'#(eval)("import \\"\\u{{40}}{PACKAGE}\\"")',
    f'#if true {{ /* */ import "\\u{{40}}{PACKAGE}" }}',
    f'#{{ /* */ import "\\u{{40}}{PACKAGE}" }}',
    f'#[#import "\\u{{40}}{PACKAGE}"]',
    f'$ #import "\\u{{40}}{PACKAGE}" $',
    f'#{{ let a = "/*" /* */ import "\\u{{40}}{PACKAGE}" }}',
    f'#let name = "\\u{{40}}{PACKAGE}"\n#let a = include name',
    f'#let name = "\\u{{40}}{PACKAGE}"\n#let f(a, ..b) = b\n#f(1, include name)',
    f'#let name = "\\u{{40}}{PACKAGE}"\n#let f() = {{ return include name }}\n#f()',
    f'#let f() = {{\nimport"\\u{{40}}{PACKAGE}"\n}}\n#f()',
    f'#let f() = {{\nimport/* */"\\u{{40}}{PACKAGE}"\n}}\n#f()',
    f'#let f() = {{ // one\n/* two */ import "\\u{{40}}{PACKAGE}"\n}}\n#f()',
    f'#let name = "\\u{{40}}{PACKAGE}"\n#let f() = {{ let b = "" /* */ import name }}\n#f()',
    f'#let name = "\\u{{40}}{PACKAGE}"\n#let f() = {{\n import name\n}}\n#f()',
    f'#let name = "\\u{{40}}{PACKAGE}"\n#let f() = {{\n import name as other; other\n}}\n#f()',
    f'#dictionary(std).at("ev" + "al")("import \\"\\u{{40}}{PACKAGE}\\"")',
    f'#let s = std\n#dictionary(s).at("ev" + "al")("import \\"\\u{{40}}{PACKAGE}\\"")',
    f'#image("\\u{{40}}{PACKAGE}/a.png")',
    '#image("https://example.com/a.png")',
    '#read("//example.com/a")',
    f'#bibliography("\\u{{40}}{PACKAGE}/a.bib")',
    f'#plugin("\\u{{40}}{PACKAGE}/a.wasm")',
    f'#set text(lang: "en")\n#show: it => {{ let a = 2; import "\\u{{40}}{PACKAGE}"; it }}',
)


def looks(template: str, checked: bool = True) -> tuple[str, int]:
    """What became of a template, and how often it looked for a way out."""
    before, path = cut_off.looked_for_a_way_out(), Path("own.typ")
    path.write_text(template, encoding="utf-8")
    try:
        text = proposal.read_template(path) if checked else template
        proposal.pdf({}, {}, date(2026, 1, 1), text)
        became = "typeset"
    except InputError:
        became = "refused"
    return became, cut_off.looked_for_a_way_out() - before


@pytest.mark.skipif(sys.platform != "linux", reason="no program can be cut off")
def test_no_template_looks_for_a_way_out(tmp_path):
    if not cut_off.is_permitted():
        pytest.skip("this system cuts no program off")
    code = f"from {__name__} import main; main()"
    root = Path(__file__).parents[2]
    done = subprocess.run(
        [*cut_off._cut(), sys.executable, "-P", "-c", f"import sys; sys.path.insert(0, {str(root)!r}); {code}"],
        cwd=tmp_path, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert [template for template, (_, ways) in found["checked"].items() if ways] == []
    assert found["checked"][ORDINARY][0] == "typeset"
    assert found["unchecked"][1] > 0, "one that is not checked is noticed"


def main() -> None:
    cut_off.switch_on_loopback()
    checked = {one: looks(one) for one in (ORDINARY, *TEMPLATES)}
    print(json.dumps({"checked": checked, "unchecked": looks(TEMPLATES[0], checked=False)}))
