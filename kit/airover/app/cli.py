"""Command line, with commands such as ``airover work JOB.toml``."""

import argparse
import atexit
import gc
import io
import logging
import os
import sys
import tomllib
from functools import partial
from pathlib import Path

from airover.core.collection import collection_postponed
from airover.core.errors import InputError
from airover.core.files import LANGUAGES, TEXTS, finish_sets, json_text

FITS, BAD_INPUT, NOTHING_FITS = 0, 2, 3
atexit.register(gc.freeze)  # otherwise, the end of the process searches all modules for garbage


def main(argv=None) -> int:
    """Run a command and return 0 if a motor fits, 3 if none fits, or 2 for invalid input."""
    arguments = _parser(_language(argv)).parse_args(argv)
    # Otherwise, pydantic searches all installed packages for plugins, which takes long.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    _spell_out(sys.stdout)
    # Without a home folder, matplotlib recommends a setting of its own.
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    try:
        finish_sets()
        code = arguments.run(arguments)
        sys.stdout.flush()
        return code
    except BrokenPipeError:  # the reader (a pager or head) closed the pipe
        sys.stdout = None
        return FITS
    except OSError as error:  # such as a full disk
        sys.stdout = None
        print(_writer(arguments).error(_unwritten(error)), file=sys.stderr)
        return BAD_INPUT
    except InputError as error:
        told = map(_writer(arguments).error, (error, *error.others))
        print(*told, sep="\n", file=sys.stderr)
        return BAD_INPUT


def _unwritten(error: OSError) -> InputError:
    """Return the error to report when the operating system cannot write the output."""
    from airover.core.message import Message

    given = Message("error.file.full", reason=error.strerror or str(error))
    return InputError(Message("error.file.output"), given, Message("error.file.room"))


def _spell_out(stream) -> None:
    """Configure ``stream`` to write unsupported characters as escape codes.

    On Windows, a file or pipe may support only the characters of one code page.
    """
    if isinstance(stream, io.TextIOWrapper) and stream.errors == "strict":
        stream.reconfigure(errors="backslashreplace")


def _language(argv) -> str:
    """Return the help language from the --language option, wherever it is on the command line."""
    early = argparse.ArgumentParser(add_help=False, allow_abbrev=False, exit_on_error=False)
    early.add_argument("--language", nargs="?")
    chosen = early.parse_known_args(argv)[0].language
    return chosen if chosen in LANGUAGES else "en"


def _parser(language: str) -> argparse.ArgumentParser:
    """Return the parser for all commands."""
    text = (TEXTS / language / "cli.toml").read_text(encoding="utf-8")
    words = tomllib.loads(text)["cli"]
    parser = argparse.ArgumentParser(prog="airover", description=words["about"])
    parser.add_argument("--language", choices=LANGUAGES, help=words["common"]["language"])
    verbs = parser.add_subparsers(required=True, metavar="VERB")
    for name, (run, arguments) in VERBS.items():
        _add(verbs, name, run, arguments, words)
    lesson = verbs.add_parser("lesson", help=words["lesson"]["about"])
    parts = lesson.add_subparsers(required=True, metavar="PART")
    for name, (run, arguments) in LESSON.items():
        _add(parts, name, run, arguments, words)
    return parser


def _add(verbs, name: str, run, arguments: dict, words: dict) -> None:
    """Add a command with its ``arguments``. Most help text is shared by all commands."""
    own = words[name]
    verb = verbs.add_parser(name, help=own["about"], epilog=own.get("epilog"))
    for argument, options in arguments.items():
        key = argument.removeprefix("--")
        spellings = [argument, *SPELLINGS.get(argument, ())]
        verb.add_argument(*spellings, help=own.get(key) or words["common"][key], **options)
    verb.set_defaults(run=run)


def _writer(arguments):
    """Return the Writer for the selected language and units."""
    from airover.core.texts import Writer

    units = getattr(arguments, "units", None)  # for a fleet, this is the table of units
    return Writer(arguments.language or "en", units if units in ("US", "SI") else "US")


def _motors(arguments, currency: str = ""):
    from airover.core.files import data_folder
    from airover.records.importing import open_catalog

    return open_catalog(arguments.catalog or data_folder() / "catalogue.csv", currency)


def _calls(arguments, path, dated: bool):
    from airover.records.importing import open_calls

    return open_calls(path, dated).with_limits(_limits(arguments))


def _limits(arguments):
    """Return the check limits from a job file, or the default limits if none is given."""
    from airover.records.job import Job

    return (Job() if arguments.limits is None else Job.read(arguments.limits)).limits


def _print_left_out(arguments, motors) -> None:
    """Report the omitted catalog rows on standard error."""
    if motors.left_out is not None:
        print(_writer(arguments)(motors.left_out.told), file=sys.stderr)


def _print(arguments, data, text, write=None) -> None:
    """Write files to the selected folder and print text, or JSON if requested.

    ``data`` and ``text`` are functions of a Writer, and ``write`` is a function of the folder and a
    Writer. JSON output is always in English.
    """
    writer = _writer(arguments)
    written = write(arguments.out, writer) if write and arguments.out else ()
    if arguments.json:
        print(json_text(data(writer.in_english)))
        return
    print(text(writer))
    _print_written(arguments, written)


def _print_written(arguments, written) -> None:
    if written:
        print(_writer(arguments)("cli.written"), *(f"  {path}" for path in written), sep="\n")


@collection_postponed()
def _work(arguments) -> int:
    from airover.reports.answer import answer_dict, report
    from airover.selection.answer import answer

    found = answer(_job_to_work(arguments), _motors(arguments))

    def write(folder, writer):
        from airover.core.files import write_files
        from airover.reports.answer_tables import write_all
        from airover.reports.export import write_job

        typed = arguments.nameplate is not None or arguments.photo is not None
        new = {"job-from-nameplate.toml": found.job.to_toml()} if typed else {}
        return [
            *write_all(found, folder, writer),
            *write_job(found, folder, writer),
            *write_files(folder, new, "out"),
        ]

    _print(arguments, partial(answer_dict, found), partial(report, found), write)
    return FITS if found.fitting else NOTHING_FITS


@collection_postponed()
def _compare(arguments) -> int:
    from airover.business.compare import compare, motor_named
    from airover.records.job import Job
    from airover.reports.compare import compare_dict, compare_text, write_compare

    motors = _motors(arguments)
    _print_left_out(arguments, motors)
    chosen = [motor_named(motors, name) for name in arguments.motors]
    found = compare(Job.read(arguments.job), chosen, old=not arguments.without_old)
    told = compare_dict, compare_text, write_compare
    _print(arguments, *(partial(one, found) for one in told))
    return FITS if found.answer.fitting else NOTHING_FITS


def _job_to_work(arguments):
    """Return the job from a job file, from nameplate text or a photo, or from both."""
    from airover.core.message import Message
    from airover.records.job import Job

    if arguments.nameplate is None and arguments.photo is None:
        if arguments.job is None:
            raise InputError("job", Message("error.nothing"), Message("cli.job_or_nameplate"))
        return Job.read(arguments.job)
    from airover.records.nameplate_text import read_nameplate
    from airover.reports.importing import nameplate_read

    if arguments.photo is None:
        text = read_nameplate(arguments.nameplate)
    else:
        from airover.core.files import read_bytes
        from airover.records.nameplate_photo import FIELD, LARGEST_FILE, read_photo

        text = read_photo(read_bytes(arguments.photo, FIELD, LARGEST_FILE)).nameplate
    print(nameplate_read(text, _writer(arguments)), file=sys.stderr)
    if arguments.job is None:
        return Job(nameplate=text.nameplate())
    job = Job.read(arguments.job)
    plate = job.nameplate
    fields = type(plate).model_fields.items()
    typed = {field.alias or name: getattr(plate, name) for name, field in fields}
    known = {name: value for name, value in typed.items() if value not in (None, "")}
    return job.model_copy(update={"nameplate": type(plate)(**(text.fields | known))})


def _import(arguments) -> int:
    """Convert a table with any column headings to the airover format."""
    from airover.records.importing import CATALOG, import_table, maker_of, read_matches
    from airover.records.sheets import read_sheet
    from airover.reports.importing import (
        as_file,
        import_dict,
        import_text,
        missing_facts,
        write_import,
    )

    known = {} if arguments.columns is None else read_matches(arguments.columns)
    sheet = read_sheet(arguments.file, arguments.sheet or known.get("sheet", ""))
    currency = (arguments.currency or "").upper()
    found = import_table(arguments.table, sheet, known.get("columns"), currency)
    text, good, none = "", 0, None
    try:
        text, good = as_file(found, arguments.maker or maker_of(arguments.file))
    except InputError as error:  # no row is usable, so list the reasons
        none = error
    missing = missing_facts(text) if text and arguments.table == CATALOG else {}
    told = {"good": good, "missing": missing}
    _print(
        arguments,
        partial(import_dict, found, **told),
        partial(import_text, found, **told),
        lambda folder, writer: write_import(found, folder, arguments.file.stem, text, writer),
    )
    if none is not None:
        raise none
    return FITS


@collection_postponed()
def _proposal(arguments) -> int:
    from airover.records.company import Company
    from airover.records.fields import read_day
    from airover.records.job import Job
    from airover.reports.proposal import make
    from airover.selection.answer import answer

    date = None if arguments.date is None else read_day(arguments.date, "date")
    job = Job.read(arguments.job)
    company = arguments.company
    company = Company.usual(job.invented) if company is None else Company.read(company)
    motors, writer = _motors(arguments, company.currency), _writer(arguments)
    _print_left_out(arguments, motors)
    found = answer(Job.read(arguments.job, company.currency), motors, named=arguments.motor)
    if not found.fitting:
        print(writer(found.verdict), file=sys.stderr)
        return NOTHING_FITS
    made = make(
        found,
        company,
        motor=arguments.motor,
        writer=writer,
        date=date,
        template=arguments.template,
        invented_motors=arguments.catalog is None,
        details=arguments.details,
    )
    written = made.write(arguments.out)
    if arguments.json:
        print(made.to_json())
    else:
        _print_written(arguments, written)
    return FITS


@collection_postponed()
def _order(arguments) -> int:
    import datetime

    from airover.records.fields import read_day
    from airover.records.job import JobFile
    from airover.reports.order import order_dict, order_text, write_order
    from airover.selection.answer import answer
    from airover.service.order import work_order

    date = arguments.date
    day = datetime.date.today() if date is None else read_day(date, "date")
    file = JobFile.read(arguments.job)
    motors = _motors(arguments)
    _print_left_out(arguments, motors)
    found = answer(file.job, motors, named=arguments.motor)
    if not found.fitting:
        print(_writer(arguments)(found.verdict), file=sys.stderr)
        return NOTHING_FITS
    order = work_order(found, arguments.motor)
    if arguments.tick is not None:
        order = order.with_ticks(file.ticked(arguments.tick, day).job.ticks)
    told = partial(order_dict, order), partial(order_text, order), partial(write_order, order)
    _print(arguments, *told)
    return FITS


@collection_postponed()
def _roof(arguments) -> int:
    from airover.records.job import Job
    from airover.reports.roof_sheet import roof_dict, roof_text, write_roof
    from airover.selection.answer import answer
    from airover.service.order import work_order
    from airover.service.roof_sheet import RoofSheet

    motors = _motors(arguments)
    _print_left_out(arguments, motors)
    found = answer(Job.read(arguments.job), motors, named=arguments.motor)
    if not found.fitting:
        print(_writer(arguments)(found.verdict), file=sys.stderr)
        return NOTHING_FITS
    sheet = RoofSheet(work_order(found, arguments.motor))
    _print(arguments, *(partial(one, sheet) for one in (roof_dict, roof_text, write_roof)))
    return FITS


@collection_postponed()
def _cause(arguments) -> int:
    from airover.records.causes import read_causes
    from airover.records.job import Job
    from airover.reports.cause import cause_dict, cause_report
    from airover.service.cause import cause

    causes = None if arguments.causes is None else read_causes(arguments.causes)
    why = cause(Job.read(arguments.job), causes)
    _print(arguments, partial(cause_dict, why), partial(cause_report, why))
    return FITS


@collection_postponed()
def _verify(arguments) -> int:
    from airover.records.job import Job
    from airover.records.readings import Measurements
    from airover.reports.verify import verified_dict, verify_report
    from airover.service.judgment import AGREES
    from airover.service.verification import verify

    job, measured = Job.read(arguments.job), Measurements.read(arguments.measured)
    motors = _motors(arguments)
    _print_left_out(arguments, motors)
    found = verify(job, measured, motors)

    def write(folder, writer):
        from airover.reports.verify_tables import write_verified

        return write_verified(found, folder, writer)

    _print(arguments, partial(verified_dict, found), partial(verify_report, found), write)
    return FITS if found.state == AGREES else NOTHING_FITS


def _stock(arguments) -> int:
    from airover.business.decision import decide, read_carried
    from airover.business.stock import study
    from airover.business.truck import Terms
    from airover.reports.stock import stock_dict, stock_text, write_stock

    names = ("budget", "space", "trucks", "days", "lead_days", "service", "second_visit")
    given = {name: getattr(arguments, name) for name in names}
    given |= {"visit_hours": arguments.visit_hours, "counter": not arguments.no_counter}
    terms = Terms(**{name: value for name, value in given.items() if value is not None})
    motors = _motors(arguments)
    today = None if arguments.today is None else read_carried(arguments.today, motors)
    found = study(_calls(arguments, arguments.calls, True), motors, terms)
    said = {"decision": decide(found, today)}
    told = stock_dict, stock_text, write_stock
    _print(arguments, *(partial(one, found, **said) for one in told))
    return FITS


def _counter(arguments) -> int:
    from airover.records.tables import left_out_of
    from airover.reports.counter import counter_dict, counter_text, write_counter_list
    from airover.selection.answer import counter_list

    calls, motors = _calls(arguments, arguments.nameplates, False), _motors(arguments)
    left_out, stocked = left_out_of(calls, motors), tuple(motors)
    if arguments.stocked is not None:
        from airover.business.decision import read_carried

        units = read_carried(arguments.stocked, motors).units
        stocked = tuple(motor for motor, kept in zip(motors, units, strict=True) if kept)
    entries = counter_list(calls.needs, stocked)
    lists = {"left_out": left_out, "calls": calls}
    _print(
        arguments,
        partial(counter_dict, entries, **lists),
        partial(counter_text, entries, **lists),
        partial(write_counter_list, entries, **lists, stocked=stocked),
    )
    return FITS if any(entry.fitting for entry in entries) else NOTHING_FITS


def _fleet(arguments) -> int:
    from airover.business.fleet_processes import begin

    begin()  # before the imports that take long
    from airover.business.fleet import fleet, summary_dict
    from airover.core.files import data_folder
    from airover.reports.fleet import progress, summary_text, write_report

    catalog, units = arguments.catalog or data_folder() / "catalogue.csv", arguments.units
    tell = progress(sys.stderr, _writer(arguments))
    limits = _limits(arguments)
    found = fleet(units, arguments.out, catalog, arguments.scheduler, tell, limits=limits)
    text = partial(summary_text, found, arguments.out)
    _print(arguments, partial(summary_dict, found), text, partial(write_report, found))
    return FITS if found["fits"] + found["fits_with_work"] else NOTHING_FITS


def _page(arguments) -> int:
    from airover.core.message import Message

    try:
        from airover.app.serve import serve
    except ModuleNotFoundError as error:
        given = Message("cli.without", package=error.name)
        raise InputError("page", given, Message("cli.extra")) from None
    names = ("port", "network", "certificate", "key")
    places = {name: getattr(arguments, name) for name in names}
    begins = {"language": arguments.language or "en", "units": arguments.units}
    serve(**places, **begins, open_browser=not arguments.no_open)
    return FITS


def _lesson_paper(arguments) -> int:
    from airover.lesson.bank import read_bank
    from airover.lesson.marks import class_papers
    from airover.lesson.report import write_papers

    room = _class(arguments)
    papers = class_papers(read_bank(arguments.questions), room)
    _print_written(arguments, write_papers(room, papers, arguments.out))
    return FITS


def _lesson_mark(arguments) -> int:
    from airover.lesson.bank import read_bank
    from airover.lesson.marks import mark_class, read_answers
    from airover.lesson.report import class_text, write_marks

    room = _class(arguments)
    answers = read_answers(arguments.answers, room, room.count)
    marks = mark_class(read_bank(arguments.questions), room, answers)
    _print(  # in the language and units of the class, as stored with the grades
        arguments,
        lambda _: marks.to_dict(),
        lambda _: class_text(marks),
        lambda folder, _: write_marks(marks, folder),
    )
    return FITS


def _class(arguments):
    """Read the class file, and use the language of the class."""
    from airover.records.lesson import SchoolClass

    room = SchoolClass.read(arguments.room).said_in(arguments.language, arguments.units)
    arguments.language = room.language
    return room


def _number(text: str) -> float:
    """Read a number that may have thousands separators or a decimal comma."""
    from airover.core.units import parse_number

    found = parse_number(text.removeprefix("-"))
    return float(text) if found is None else -found if text.startswith("-") else found


def _file(metavar: str) -> dict:
    return {"type": Path, "metavar": metavar}


def _named(metavar: str, type=str) -> dict:
    return {"type": type, "metavar": metavar}


JOB = {"job": _file("JOB.toml")}
CATALOG = {"--catalog": _file("FILE")}
LIMITS = {"--limits": _file("JOB.toml")}
SPELLINGS = {"--catalog": ("--catalogue",)}
# Valid before or after the command. The default is English or, for a lesson, the class language.
LANGUAGE = {"--language": {"choices": LANGUAGES, "default": argparse.SUPPRESS}}
UNITS = {"--units": {"choices": ("US", "SI"), "default": "US"}}
JSON = {"--json": {"action": "store_true"}}
OUT = {"--out": _file("FOLDER")}
NEEDED_OUT = {"--out": _file("FOLDER") | {"required": True}}
TOLD = UNITS | LANGUAGE | JSON
TERMS = {
    "--budget": _named("MONEY", _number),
    "--space": _named("M3", _number),
    "--trucks": _named("N", int),
    "--days": _named("DAYS", _number),
    "--lead-days": _named("DAYS", _number),
    "--service": _named("SHARE", _number),
    "--no-counter": {"action": "store_true"},
    "--today": _file("FILE"),
    "--second-visit": _named("MONEY", _number),
    "--visit-hours": _named("HOURS", _number),
}
STOCKED = {"--stocked": _file("FILE")}
OFFER = {
    "--company": _file("COMPANY.toml"),
    "--date": _named("YYYY-MM-DD"),
    "--template": _file("FILE"),
    "--details": {"action": "store_true"},
}
MOTOR = {"--motor": _named("NAME")}
MOTORS = {
    "motors": {"nargs": "+", "metavar": "MOTOR"},
    "--without-old": {"action": "store_true"},
}
TICK = {"--tick": _named("STEP"), "--date": _named("YYYY-MM-DD")}
NAMEPLATE = {"--nameplate": _named("TEXT"), "--photo": _file("PICTURE")}
TABLE = {
    "table": {"choices": ("catalog", "calls", "nameplates", "units")},
    "file": _file("FILE"),
    "--columns": _file("COLUMNS.toml"),
    "--sheet": _named("NAME"),
    "--maker": _named("NAME"),
    "--currency": _named("USD"),
}
VERBS = {
    "work": (_work, {"job": _file("JOB.toml") | {"nargs": "?"}} | NAMEPLATE | CATALOG | TOLD | OUT),
    "proposal": (_proposal, JOB | MOTOR | OFFER | CATALOG | TOLD | NEEDED_OUT),
    "order": (_order, JOB | MOTOR | TICK | CATALOG | TOLD | OUT),
    "roof": (_roof, JOB | MOTOR | CATALOG | TOLD | OUT),
    "compare": (_compare, JOB | MOTORS | CATALOG | TOLD | OUT),
    "cause": (_cause, JOB | {"--causes": _file("CAUSES.toml")} | TOLD),
    "verify": (_verify, JOB | {"measured": _file("MEASURED.toml")} | CATALOG | TOLD | OUT),
    "stock": (_stock, {"calls": _file("CALLS")} | TERMS | LIMITS | CATALOG | TOLD | OUT),
    "counter": (
        _counter,
        {"nameplates": _file("NAMEPLATES")} | STOCKED | LIMITS | CATALOG | TOLD | OUT,
    ),
    "fleet": (
        _fleet,
        {"units": _file("UNITS"), "--scheduler": _named("ADDRESS")}
        | LIMITS
        | CATALOG
        | LANGUAGE
        | JSON
        | NEEDED_OUT,
    ),
    "import": (_import, TABLE | LANGUAGE | JSON | OUT),
    "page": (
        _page,
        {
            "--port": {"type": int},
            "--network": {"action": "store_true"},
            "--certificate": _file("FILE"),
            "--key": _file("FILE"),
            "--no-open": {"action": "store_true"},
        }
        | LANGUAGE
        | UNITS,
    ),
}
CLASS = {"room": _file("CLASS.toml"), "--questions": _file("FOLDER")}
CLASS |= LANGUAGE | {"--units": {"choices": ("US", "SI")}}
LESSON = {
    "paper": (_lesson_paper, CLASS | NEEDED_OUT),
    "mark": (_lesson_mark, CLASS | {"answers": _file("ANSWERS.csv")} | JSON | OUT),
}


if __name__ == "__main__":
    sys.exit(main())
