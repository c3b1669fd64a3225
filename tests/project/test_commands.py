"""Every command and every example in README and guide runs as written, in a copy of the project.

Commands are the lines of ``sh`` blocks. A ``text`` block right below one shows how its output
begins: whole paragraphs, then "..." where there is more. ``python -m tests.project.test_commands``
writes these blocks and the gallery's pictures again.
"""

import contextlib
import io
import re
import runpy
import shlex
import shutil
from pathlib import Path

import pytest

from airover.app.cli import main
from tests.markdown import ROOT

PAGES = ["README.md"]
PAGES += sorted(path.relative_to(ROOT).as_posix() for path in ROOT.glob("worksheets/guide/*.md"))
BLOCK = re.compile(r"^```(sh|python|text|ini|toml)\n(.*?)^```\n", flags=re.MULTILINE | re.DOTALL)
OF_KIT = "python3 kit"
SETS_UP = ("", "test", "page")  # tried in test_setup.py and tests/web; here they would not end
PICTURE = re.compile(r"!\[[^\]]*\]\(\.\./(pictures/gallery-[a-z]+\.png)\)")


def text_of(page: str) -> str:
    return (ROOT / page).read_text(encoding="utf-8")


def with_blocks(*languages: str) -> list[str]:
    """Pages that have a block in one of the languages."""
    found = {page: {one[1] for one in BLOCK.finditer(text_of(page))} for page in PAGES}
    return [page for page, there in found.items() if there & set(languages)]


def copied(folder: Path) -> Path:
    """A copy of what commands read."""
    shutil.copytree(ROOT / "data", folder / "data")
    shutil.copytree(ROOT / "kit" / "airover" / "reports" / "templates",
                    folder / "kit" / "airover" / "reports" / "templates")  # fmt: skip
    return folder


def run_line(line: str) -> str:
    """Run one line of a shell; returns what it printed."""
    told = re.search(r"# exit code (\d)", line)
    words = shlex.split(line, comments=True)
    if words[0] == "cp":
        _copy(words[1:])
        return ""
    assert line.startswith(OF_KIT), f"no command of this project: {line}"
    arguments = words[2:]
    if next((one for one in arguments if not one.startswith("-")), "") in SETS_UP:
        return ""
    page, errors = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(page), contextlib.redirect_stderr(errors):
        code = main(arguments)
    assert code == int(told[1] if told else 0), f"{line}\n{errors.getvalue()}"
    return page.getvalue()


def _copy(words: list[str]) -> None:
    *options, source, target = words
    if options == ["-r"]:
        shutil.copytree(source, target)
    else:
        shutil.copy(source, target)


def beginning(output: str, shown: str) -> str:
    """As many whole paragraphs of ``output`` as ``shown`` has, then "..." where there is more."""
    paragraphs = output.strip().split("\n\n")
    count = max(len([one for one in shown.strip().split("\n\n") if one.strip(". \n")]), 1)
    rest = "\n...\n" if len(paragraphs) > count else "\n"
    return "\n\n".join(paragraphs[:count]) + rest


def as_run(text: str, run_python) -> str:
    """``text`` of a page with the outputs that its commands print now."""
    printed = None

    def again(block: re.Match) -> str:
        nonlocal printed
        language, inner = block.groups()
        if language == "sh":
            printed = "".join(run_line(line) for line in inner.splitlines())
        elif language == "python":
            run_python(inner, text[block.end() :])
            printed = None
        elif language == "text" and printed:
            shown, printed = beginning(printed, inner), None
            return f"```text\n{shown}```\n"
        return block[0]

    return BLOCK.sub(again, text)


def run_example(code: str, after: str) -> bytes | None:
    """Run an example; returns its ``picture``, for the picture that the page shows below it."""
    path = Path("example.py")
    path.write_text(code, encoding="utf-8")
    return runpy.run_path(str(path)).get("picture")


@pytest.mark.parametrize("page", with_blocks("sh", "python"))
def test_a_page_runs_as_written(page, tmp_path, monkeypatch):
    monkeypatch.chdir(copied(tmp_path))
    text = text_of(page)
    assert as_run(text, run_example) == text, "run python -m tests.project.test_commands"


def test_every_command_is_shown_with_a_file_that_is_there():
    shown = "\n".join(one[2] for page in PAGES for one in BLOCK.finditer(text_of(page)))
    for verb in ("work", "order", "cause", "verify", "proposal", "stock", "counter", "fleet"):
        assert f"{OF_KIT} {verb} " in shown
    assert f"{OF_KIT} lesson paper " in shown and f"{OF_KIT} lesson mark " in shown


def test_a_line_that_fails_is_found(tmp_path, monkeypatch):
    monkeypatch.chdir(copied(tmp_path))
    with pytest.raises(AssertionError, match="absent.toml"):
        run_line("python3 kit work absent.toml")
    with pytest.raises(AssertionError, match="no command"):
        run_line("rm -r data")
    assert beginning("a\n\nb\n\nc\n", "x\n\ny\n...\n") == "a\n\nb\n...\n"


if __name__ == "__main__":
    import tempfile

    def redraw(code: str, after: str) -> None:
        picture, place = run_example(code, after), PICTURE.search(after)
        if picture and place:
            (ROOT / "worksheets" / place[1]).write_bytes(picture)

    for one in with_blocks("sh", "python"):
        with tempfile.TemporaryDirectory() as folder, contextlib.chdir(copied(Path(folder))):
            (ROOT / one).write_text(as_run(text_of(one), redraw), encoding="utf-8")
