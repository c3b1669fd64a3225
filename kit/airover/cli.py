"""The command line: ``airover work JOB.toml``."""

import argparse
import io
import json
import sys
from pathlib import Path

from airover.errors import InputError
from airover.lesson.command import add_lesson

FITS, BAD_INPUT, NOTHING_FITS = 0, 2, 3


def main(argv=None) -> int:
    """Run one command; returns 0 when something fits, 3 when nothing does, 2 on bad input."""
    arguments = _parser().parse_args(argv)
    _spell_out(sys.stdout)
    try:
        return arguments.run(arguments)
    except BrokenPipeError:  # the reader, a pager or head, has seen enough
        sys.stdout = None
        return FITS
    except InputError as error:
        print(error, *getattr(error, "__notes__", ()), sep="\n", file=sys.stderr)
        return BAD_INPUT


def _spell_out(stream) -> None:
    """Let a letter that ``stream`` lacks be written as its number, as standard error does: a file
    or a pipe of Windows has the letters of one region only."""
    if isinstance(stream, io.TextIOWrapper) and stream.errors == "strict":
        stream.reconfigure(errors="backslashreplace")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="airover", description="Replacing the fan motor of an outdoor unit, worked out."
    )
    verbs = parser.add_subparsers(required=True, metavar="VERB")
    work = verbs.add_parser("work", help="work one job: which motor replaces the failed one")
    work.add_argument("job", type=Path, metavar="JOB.toml", help="the job: nameplate, blade, site")
    work.add_argument("--catalogue", type=Path, metavar="CSV", help="motors to choose from")
    work.add_argument("--units", choices=("US", "SI"), default="US", help="units in the texts")
    work.add_argument("--json", action="store_true", help="print the whole answer as JSON")
    work.add_argument("--out", type=Path, metavar="FOLDER", help="write answer, tables and picture")
    work.set_defaults(run=_work)
    _add_proposal(verbs)
    _add_order(verbs)
    _add_cause(verbs)
    _add_verify(verbs)
    _add_stock(verbs)
    _add_fleet(verbs)
    add_lesson(verbs)
    _add_page(verbs)
    return parser


def _add_stock(verbs) -> None:
    stock = verbs.add_parser("stock", help="plan what trucks and counter carry, from calls")
    stock.add_argument("calls", type=Path, metavar="CALLS.csv", help="history of service calls")
    stock.add_argument("--budget", type=float, metavar="MONEY", help="on one truck")
    stock.add_argument("--space", type=float, metavar="M3", help="cubic metres on one truck")
    stock.add_argument("--trucks", type=int, metavar="N", help="how many there are")
    stock.add_argument("--days", type=float, help="between two restockings of a truck")
    stock.add_argument("--lead-days", type=float, metavar="DAYS", help="of the counter's supplier")
    stock.add_argument("--service", type=float, metavar="SHARE", help="of the counter, such as .95")
    stock.set_defaults(run=_stock)
    cross = verbs.add_parser("crossref", help="list the motors that fit each plate of a list")
    cross.add_argument("plates", type=Path, metavar="PLATES.csv", help="dates may be left out")
    cross.add_argument("--units", choices=("US", "SI"), default="US", help="units in the texts")
    cross.set_defaults(run=_crossref)
    for one in (stock, cross):
        one.add_argument("--catalogue", type=Path, metavar="CSV", help="motors to choose from")
        one.add_argument("--json", action="store_true", help="print the answer as JSON")
        one.add_argument("--out", type=Path, metavar="FOLDER", help="write tables and pages")


def _add_proposal(verbs) -> None:
    offer = verbs.add_parser("proposal", help="write a proposal that a customer can sign")
    offer.add_argument("job", type=Path, metavar="JOB.toml", help="the job, with its customer")
    offer.add_argument("--motor", metavar="NAME", help="recommend this one instead of the best")
    offer.add_argument("--company", type=Path, metavar="COMPANY.toml", help="who offers the work")
    offer.add_argument("--language", choices=("en", "es"), default="en", help="of the proposal")
    offer.add_argument("--date", metavar="YYYY-MM-DD", help="of the proposal; today if left out")
    offer.add_argument("--template", type=Path, metavar="FILE", help="a changed template.typ")
    offer.add_argument("--catalogue", type=Path, metavar="CSV", help="motors to choose from")
    offer.add_argument("--units", choices=("US", "SI"), default="US", help="units in the texts")
    offer.add_argument("--json", action="store_true", help="print the proposal's content as JSON")
    offer.add_argument("--out", type=Path, metavar="FOLDER", required=True, help="where it goes")
    offer.set_defaults(run=_proposal)


def _add_order(verbs) -> None:
    order = verbs.add_parser("order", help="write a work order: the installation step by step")
    order.add_argument("job", type=Path, metavar="JOB.toml", help="the job; it keeps the ticks")
    order.add_argument("--motor", metavar="NAME", help="install this one instead of the best")
    order.add_argument("--tick", metavar="STEP", help="write into the job that a step was done")
    order.add_argument("--date", metavar="YYYY-MM-DD", help="of the tick; today if left out")
    order.add_argument("--language", choices=("en", "es"), default="en", help="of the order")
    order.add_argument("--catalogue", type=Path, metavar="CSV", help="motors to choose from")
    order.add_argument("--units", choices=("US", "SI"), default="US", help="units in the texts")
    order.add_argument("--json", action="store_true", help="print the order as JSON")
    order.add_argument("--out", type=Path, metavar="FOLDER", help="write a page to print")
    order.set_defaults(run=_order)


def _add_cause(verbs) -> None:
    cause = verbs.add_parser("cause", help="weigh why the old motor failed")
    cause.add_argument("job", type=Path, metavar="JOB.toml", help="the job, with its [found]")
    cause.add_argument("--causes", type=Path, metavar="CAUSES.toml", help="figures of your own")
    cause.add_argument("--units", choices=("US", "SI"), default="US", help="units in the texts")
    cause.add_argument("--json", action="store_true", help="print the answer as JSON")
    cause.set_defaults(run=_cause)


def _add_verify(verbs) -> None:
    check = verbs.add_parser("verify", help="judge what was measured on the new motor")
    check.add_argument("job", type=Path, metavar="JOB.toml", help="the job: blade and site")
    check.add_argument("measured", type=Path, metavar="MEASURED.toml", help="what meters showed")
    check.add_argument("--catalogue", type=Path, metavar="CSV", help="where the motor is named")
    check.add_argument("--units", choices=("US", "SI"), default="US", help="units in the texts")
    check.add_argument("--json", action="store_true", help="print the whole answer as JSON")
    check.add_argument("--out", type=Path, metavar="FOLDER", help="write text, tables and picture")
    check.set_defaults(run=_verify)


def _add_fleet(verbs) -> None:
    many = verbs.add_parser("fleet", help="screen a table of units, of any size")
    many.add_argument("units", type=Path, metavar="UNITS.parquet", help="one row for each unit")
    many.add_argument("--catalogue", type=Path, metavar="CSV", help="motors to choose from")
    many.add_argument("--scheduler", metavar="ADDRESS", help="of a Dask cluster that works it")
    many.add_argument("--json", action="store_true", help="print the summary as JSON")
    many.add_argument("--out", type=Path, metavar="FOLDER", required=True, help="where it goes")
    many.set_defaults(run=_fleet)


def _add_page(verbs) -> None:
    page = verbs.add_parser("page", help="serve a page without code, for browser, tablet, phone")
    page.add_argument("--port", type=int, help="of the address; 0 takes any that is free")
    page.add_argument("--network", action="store_true", help="answer other computers too, by token")
    page.add_argument("--token", help="with --network: this one instead of a drawn one")
    page.add_argument("--language", choices=("en", "es"), default="en", help="to begin with")
    page.add_argument("--units", choices=("US", "SI"), default="US", help="to begin with")
    page.add_argument("--no-open", action="store_true", help="open no browser")
    page.set_defaults(run=_page)


def _work(arguments) -> int:
    from airover.answer import answer
    from airover.locations import data_folder
    from airover.records import Job, read_catalogue
    from airover.reports.answer import report
    from airover.texts import Writer

    job = Job.read(arguments.job)
    motors = read_catalogue(arguments.catalogue or data_folder() / "catalogue.csv")
    found = answer(job, motors)
    if arguments.out:
        from airover.reports.files import write_all

        written = write_all(found, arguments.out, system=arguments.units)
    told = found.to_dict(Writer("en", arguments.units)) if arguments.json else None
    print(json.dumps(told, indent=1) if told else report(found, system=arguments.units))
    if arguments.out and not arguments.json:
        print("Written:", *(f"  {path}" for path in written), sep="\n")
    return FITS if found.fitting else NOTHING_FITS


def _proposal(arguments) -> int:
    from airover.answer import answer
    from airover.locations import data_folder
    from airover.proposal import make
    from airover.records import Company, Job, read_catalogue
    from airover.records.dates import read_day
    from airover.texts import Writer

    date = None if arguments.date is None else read_day(arguments.date, "date")
    company = Company.read(arguments.company or data_folder() / "company.toml")
    job = Job.read(arguments.job)
    motors = read_catalogue(arguments.catalogue or data_folder() / "catalogue.csv")
    found = answer(job, motors)
    if not found.fitting:
        print(Writer(arguments.language, arguments.units)(found.verdict), file=sys.stderr)
        return NOTHING_FITS
    wishes = {"motor": arguments.motor, "language": arguments.language, "date": date}
    wishes["system"] = arguments.units
    wishes["invented_motors"] = arguments.catalogue is None
    made = make(found, company, template=arguments.template, **wishes)
    written = made.write(arguments.out)
    told = (
        made.to_json() if arguments.json else "\n".join(["Written:", *map("  {}".format, written)])
    )
    print(told)
    return FITS


def _order(arguments) -> int:
    import datetime

    from airover.answer import answer
    from airover.locations import data_folder
    from airover.order.work_order import work_order
    from airover.records import JobFile, read_catalogue
    from airover.records.dates import read_day
    from airover.reports.order import order_dict, order_text, write_order
    from airover.texts import Writer

    date = arguments.date
    day = datetime.date.today() if date is None else read_day(date, "date")
    file = JobFile.read(arguments.job)
    motors = read_catalogue(arguments.catalogue or data_folder() / "catalogue.csv")
    found, say = answer(file.job, motors), Writer(arguments.language, arguments.units)
    if not found.fitting:
        print(say(found.verdict), file=sys.stderr)
        return NOTHING_FITS
    order = work_order(found, arguments.motor)
    if arguments.tick is not None:
        order = order.with_ticks(file.ticked(arguments.tick, day).job.ticks)
    written = write_order(order, arguments.out, say) if arguments.out else []
    print(
        json.dumps(order_dict(order, say), indent=1) if arguments.json else order_text(order, say)
    )
    if written and not arguments.json:
        print("Written:", *(f"  {path}" for path in written), sep="\n")
    return FITS


def _cause(arguments) -> int:
    from airover.cause.why import cause
    from airover.records import Job
    from airover.records.causes import read_causes
    from airover.reports.cause import cause_report
    from airover.texts import Writer

    causes = None if arguments.causes is None else read_causes(arguments.causes)
    why = cause(Job.read(arguments.job), causes)
    if arguments.json:
        print(json.dumps(why.to_dict(Writer("en", arguments.units)), indent=1))
    else:
        print(cause_report(why, system=arguments.units))
    return FITS


def _verify(arguments) -> int:
    from airover.locations import data_folder
    from airover.records import Job, Measurements, read_catalogue
    from airover.reports.verify import verified_dict, verify_report
    from airover.verify.judged import AGREES
    from airover.verify.verified import verify

    job, measured = Job.read(arguments.job), Measurements.read(arguments.measured)
    motors = read_catalogue(arguments.catalogue or data_folder() / "catalogue.csv")
    found = verify(job, measured, motors)
    if arguments.out:
        from airover.reports.verify_files import write_verified

        written = write_verified(found, arguments.out, system=arguments.units)
    if arguments.json:
        print(json.dumps(verified_dict(found, arguments.units), indent=1))
    else:
        print(verify_report(found, system=arguments.units))
    if arguments.out and not arguments.json:
        print("Written:", *(f"  {path}" for path in written), sep="\n")
    return FITS if found.state == AGREES else NOTHING_FITS


def _stock(arguments) -> int:
    from airover.locations import data_folder
    from airover.records import read_catalogue
    from airover.records.calls import read_calls
    from airover.reports.stock import stock_text, write_stock
    from airover.stock.study import study
    from airover.stock.truck_loads import Terms

    names = ("budget", "space", "trucks", "days", "lead_days", "service")
    given = {name: getattr(arguments, name) for name in names}
    terms = Terms(**{name: value for name, value in given.items() if value is not None})
    motors = read_catalogue(arguments.catalogue or data_folder() / "catalogue.csv")
    found = study(read_calls(arguments.calls), motors, terms)
    written = write_stock(found, arguments.out) if arguments.out else []
    print(json.dumps(found.to_dict(), indent=1) if arguments.json else stock_text(found))
    if written and not arguments.json:
        print("Written:", *(f"  {path}" for path in written), sep="\n")
    return FITS


def _crossref(arguments) -> int:
    from airover.locations import data_folder
    from airover.matching.crossref import crossref
    from airover.records import read_catalogue
    from airover.records.calls import read_calls
    from airover.reports.stock import crossref_text, write_crossref
    from airover.texts import Writer

    motors = read_catalogue(arguments.catalogue or data_folder() / "catalogue.csv")
    calls = read_calls(arguments.plates, dated=False)
    entries = crossref(calls.needs, motors)
    written = write_crossref(entries, arguments.out) if arguments.out else []
    rows = [row for entry in entries for row in entry.rows(Writer("en", arguments.units))]
    text = crossref_text(entries, system=arguments.units)
    print(json.dumps(rows, indent=1) if arguments.json else text)
    if written and not arguments.json:
        print("Written:", *(f"  {path}" for path in written), sep="\n")
    return FITS if any(entry.fitting for entry in entries) else NOTHING_FITS


def _fleet(arguments) -> int:
    from airover.fleet.report import progress, summary_text
    from airover.fleet.run import fleet
    from airover.locations import data_folder

    catalogue = arguments.catalogue or data_folder() / "catalogue.csv"
    tell = progress(sys.stderr)
    found = fleet(arguments.units, arguments.out, catalogue, arguments.scheduler, tell)
    print(json.dumps(found, indent=1) if arguments.json else summary_text(found, arguments.out))
    return FITS if found["fits"] + found["fits_with_work"] else NOTHING_FITS


def _page(arguments) -> int:
    try:
        from airover.page.serve import serve
    except ModuleNotFoundError as error:
        wanted = "an environment with the extra web, as python3 kit makes it"
        raise InputError("page", f"an environment without {error.name}", wanted) from None
    places = {name: getattr(arguments, name) for name in ("port", "network", "token")}
    begins = {name: getattr(arguments, name) for name in ("language", "units")}
    serve(**places, **begins, open_browser=not arguments.no_open)
    return FITS


if __name__ == "__main__":
    sys.exit(main())
