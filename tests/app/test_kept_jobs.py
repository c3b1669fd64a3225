"""Jobs kept in a folder: the list, search, copies, and two pages on one job."""

import os

import pytest

from airover.app import kept_jobs
from airover.app.kept_jobs import FOLDER, KeptJobs, copied, jobs_folder
from airover.app.page import App
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.records.job import Job, JobFile

SAMPLE = data_folder() / "jobs" / "roof-unit.toml"


def named(customer: str, name: str) -> Job:
    return Job(name=name, customer={"name": customer})


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "jobs"


def labels(page) -> list[str]:
    return [row.children[0].description for row in page.kept.rows.children]


def test_the_folder_is_the_users_and_can_be_named(monkeypatch, tmp_path):
    monkeypatch.setenv(FOLDER, str(tmp_path / "ours"))
    assert jobs_folder() == tmp_path / "ours"
    monkeypatch.delenv(FOLDER)
    assert jobs_folder().name == "airover-jobs"


def test_jobs_are_listed_by_day_or_customer_and_searched(folder):
    jobs = KeptJobs(folder)
    assert jobs.found() == []
    for day, (customer, name) in enumerate((("Zeta", "Roof"), ("Alfa", "Yard"), ("Mesa", "Roof"))):
        file = jobs.keep_as_new(named(customer, name))
        os.utime(folder / file, (1e9 + day * 86400,) * 2)
    (folder / "notes.toml").write_text("no job [")
    assert [one.customer for one in jobs.found()] == ["Mesa", "Alfa", "Zeta"]
    assert [one.customer for one in jobs.found(by_customer=True)] == ["Alfa", "Mesa", "Zeta"]
    assert [one.customer for one in jobs.found("roof")] == ["Mesa", "Zeta"]
    assert [one.customer for one in jobs.found("ROOF mesa")] == ["Mesa"]
    assert [one.customer for one in jobs.found("2001-09-09")] == ["Zeta"]


def test_two_jobs_of_one_name_have_two_files(folder):
    jobs = KeptJobs(folder)
    files = [jobs.keep_as_new(named("Mesa", "Roof")) for _ in range(2)]
    assert files == ["mesa-roof.toml", "mesa-roof-2.toml"]


@pytest.mark.parametrize("file", ["../job.toml", "/etc/passwd", "job.txt", "", "a/b.toml"])
def test_no_other_file_is_read(folder, file):
    with pytest.raises(InputError):
        KeptJobs(folder).open(file)


def test_a_file_with_comments_is_left_alone_until_the_job_changes(folder):
    folder.mkdir()
    text = "# ours\nname = 'Roof'\n"
    (folder / "roof.toml").write_text(text)
    jobs = KeptJobs(folder)
    job = jobs.open("roof.toml")
    jobs.keep("roof.toml", job)
    assert (folder / "roof.toml").read_text() == text
    jobs.keep("roof.toml", job.model_copy(update={"name": "Yard"}))
    assert Job.read(folder / "roof.toml").name == "Yard"


def test_a_copy_begins_without_completed_steps():
    job = Job(name="Roof", ticks={"isolation": "2026-01-02"})
    assert copied(job, "Copy").ticks.isolation is None and job.ticks.isolation is not None


# On the page


def test_a_page_without_a_folder_offers_no_list():
    page = App()
    assert not page.kept.is_offered
    assert page.kept.view not in [
        one for part in page.folds.parts for one in getattr(part, "children", ())
    ]


def test_a_kept_job_is_written_after_every_change_opened_and_copied(folder):
    page = App(jobs=folder)
    page.open_job(SAMPLE.name, SAMPLE.read_bytes())
    assert not folder.exists()
    page.kept.keep_button.click()
    file = page.kept.file
    assert Job.read(folder / file) == Job.read(SAMPLE) and file in page.kept.told.value
    page.form.name.value = "Another name"
    assert Job.read(folder / file).name == "Another name"
    page.form.nameplate.current.value = "nineteen"  # refused: the file keeps the last whole job
    assert Job.read(folder / file).nameplate.current.text == "1.9 A"

    page.anew.click()
    assert page.kept.file == "" and Job.read(folder / file).name == "Another name"
    page.kept.say()
    (row,) = page.kept.rows.children
    assert "Customer 1, Another name" in labels(page)[0] and "0 of 18 steps" in labels(page)[0]
    row.children[1].click()
    assert page.form.name.value == "Copy of Another name" and len(list(folder.iterdir())) == 2
    page.kept.search.value = "copy"
    assert len(labels(page)) == 1
    page.kept.search.value = ""
    assert len(labels(page)) == 2


def test_undo_never_writes_one_job_into_the_file_of_another(folder):
    page = App(jobs=folder)
    for name in ("First", "Second"):
        page.anew.click()
        page.form.name.value = name
        page.kept.keep_button.click()
    page.kept.open("first.toml")
    page.undo.back.click()
    assert page.form.name.value == "Second" and page.kept.file == "second.toml"
    page.settled()
    assert {Job.read(path).name for path in folder.iterdir()} == {"First", "Second"}


def test_two_pages_on_one_job_notice_each_other(folder):
    first, second = App(jobs=folder), App("es", jobs=folder)
    first.form.name.value = "Roof"
    first.kept.keep_button.click()
    second.kept.open("roof.toml")
    second.form.name.value = "Techo"
    first.kept.look()  # as it does every few seconds
    assert first.kept.notice.layout.display is None
    first.form.note.value = "nothing of this is written"
    assert Job.read(folder / "roof.toml").name == "Techo"
    first.kept.load_button.click()
    assert first.form.name.value == "Techo" and first.kept.notice.layout.display == "none"

    second.form.name.value = "Azotea"
    first.form.name.value = "Mine"  # settled before it looked: the file is not overwritten
    assert Job.read(folder / "roof.toml").name == "Azotea"
    first.kept.mine_button.click()
    assert Job.read(folder / "roof.toml").name == "Mine"
    second.kept.look()
    assert second.kept.notice.layout.display is None


def test_a_reloaded_page_goes_on_with_its_file_and_tells_that_it_changed(folder, tmp_path):
    unsaved = tmp_path / "unsaved.json"
    page = App(unsaved=unsaved, jobs=folder)
    page.form.name.value = "Roof"
    page.kept.keep_button.click()
    again = App(unsaved=unsaved, jobs=folder)
    assert again.kept.file == "roof.toml" and again.kept.notice.layout.display == "none"
    file = JobFile.read(folder / "roof.toml")
    file.saved(file.job.model_copy(update={"name": "Other"}))
    third = App(unsaved=unsaved, jobs=folder)
    assert third.form.name.value == "Roof" and third.kept.notice.layout.display is None
    assert Job.read(folder / "roof.toml").name == "Other"


def test_a_file_of_a_long_list_is_read_once(folder, monkeypatch):
    jobs = KeptJobs(folder)
    folder.mkdir()
    for number in range(300):
        (folder / f"{number}.toml").write_text(f"name = 'Job {number}'\n[customer]\nname = 'C'\n")
    assert len(jobs.found()) == 300
    monkeypatch.setattr(kept_jobs, "_line", None)  # reads a file
    assert len(jobs.found("job 123")) == 1
