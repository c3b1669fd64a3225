"""Import of tables with arbitrary headings.

Distributors' price lists, service companies' call lists and building portfolios use different names
and formats for the same data. Each heading is compared with the English and Spanish trade terms for
a field, and each cell is compared with the values that the field accepts. A column with 1/6, 1/4
and 1/3 is read as horsepower, regardless of its heading. The matches can be saved in a TOML file
and used for other files with the same headings. Rows that cannot be used are listed with the
reasons. An unreadable cell in an optional field is skipped and counted.
"""

import csv
import datetime
import io
import os
import re
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field, replace
from difflib import SequenceMatcher
from functools import cache, lru_cache, partial
from pathlib import Path
from typing import NamedTuple

import numpy as np

from airover.core.errors import InputError
from airover.core.files import decoded, read_bytes, read_text
from airover.core.kinds import KINDS
from airover.core.message import Message
from airover.core.patterns import Pattern
from airover.core.toml import as_typed, toml_table
from airover.core.units import convert, quoted, read
from airover.records import calls as calls_file
from airover.records.calls import (
    HEADINGS,
    Calls,
    calls_of,
    need_of,
    quantity_column,
    quantity_of,
    references,
    unread,
)
from airover.records.catalog import COLUMNS, Catalog, CatalogMotor, catalog_of, columns_in
from airover.records.fields import (
    BEARINGS,
    CLASSES,
    DRAIN_PLUGS,
    ENCLOSURES,
    MOUNTINGS,
    PROTECTORS,
    SHAFT_POSITIONS,
    UNKNOWN,
    days_of,
    one_word_of,
    read_day,
    spelled,
)
from airover.records.nameplate import poles_at
from airover.records.sheets import FILE as SHEET_FILE
from airover.records.sheets import LARGEST_FILE as LARGEST_SHEET
from airover.records.sheets import LARGEST_INSIDE, LONGEST_CELL, Sheet, first_headings, sheet_of
from airover.records.tables import LeftOut, file_of

CATALOG, CALLS, NAMEPLATES, UNITS = "catalog", "calls", "nameplates", "units"
KINDS_OF_TABLE = (CATALOG, CALLS, NAMEPLATES, UNITS)
BY_NAME, LIKELY, BY_CONTENT = "name", "likely", "content"
MATCH_ENDING = ".columns.toml"
_EMPTY = UNKNOWN | {"", "NONE", "NULL", "NAN"}  # cells without data, in capitals


class Field(NamedTuple):
    """Field of a table, with data for recognizing its column.

    Attributes
    ----------
    names : tuple[str, ...]
        Trade terms for the field.
    kind : str
        Type of quantity.
    unit : str
        Default unit.
    words : dict or None
        Accepted words.
    looks : str
        Pattern that the cells match.
    distinct : bool
        True if the cells are sufficient to identify the field.
    by_unit : bool
        True if the unit in the heading or in the cells is sufficient to identify the field.
    """

    names: tuple[str, ...]
    kind: str = ""
    unit: str = ""
    words: dict | None = None
    looks: str = ""
    distinct: bool = False
    by_unit: bool = False


_FRACTION = r"(?:1/(?:20|15|12|10|8|6|5|4|3|2)|3/4|1)"
_PLACES = ("city", "site", "location", "zip", "branch", "address", "town", "place", "customer city", "neighborhood",
           "area", "zone", "service city", "ciudad", "colonia", "zona", "municipio", "lugar", "sucursal")  # fmt: skip
_OTHER_BEARINGS = {
    "ball": ("ball brg", "ball bearing", "ball bearings", "bb", "bolas", "balero de bolas", "baleros de bolas"),
    "sleeve": ("sleeve brg", "sleeve bearing", "sleeve bearings", "slv", "slv brg", "buje", "bujes", "bronce"),
}  # fmt: skip


def _more(words: dict, others: dict) -> dict:
    """Return the accepted words together with other words that a table may contain."""
    return {word: (*other, *others.get(word, ())) for word, other in words.items()}


FIELDS: dict[str, Field] = {
    "maker": Field(("maker", "brand", "manufacturer", "mfr", "mfg", "mfgr", "manuf", "make", "vendor", "marca", "fabricante")),
    "model": Field(("model", "model number", "part number", "part no", "part", "item", "item number", "item no",
                    "item id", "item code", "sku", "catalog number", "cat no", "pn", "stock number", "stock code",
                    "order code", "order no", "order number", "modelo", "numero de parte", "no parte", "clave", "codigo", "product")),
    "kind": Field(("kind", "motor type", "type", "motor kind", "technology", "tipo")),
    "description": Field(("description", "desc", "item description", "product description", "nameplate",
                          "nameplate text", "nameplate data", "motor data", "motor nameplate", "notes",
                          "tech notes", "comments", "remarks", "descripcion", "notas", "observaciones", "datos de placa")),
    "voltage": Field(("voltage", "volts", "volt", "v", "rated volts", "rated voltage", "nameplate volts",
                      "motor volts", "voltaje", "tension", "voltage low", "min voltage", "volts min", "voltaje minimo"), "voltage", "V",
                     looks=r"[1-5]\d\d(?:\s*[-/]\s*[1-5]\d\d)?(?:\s*[-/]\s*[56]0)?(?:\s*[-/]\s*[13])?\s*v?(?:ac)?", distinct=True, by_unit=True),
    "highest voltage": Field(("voltage high", "plate voltage high", "max voltage", "voltage max", "volts max", "max volts",
                              "voltaje maximo"), "voltage", "V"),
    "highest line voltage": Field(("line voltage high", "max line voltage", "line voltage max", "line volts max"), "voltage", "V"),
    "line voltage": Field(("line voltage", "line volts", "supply voltage", "supply volts", "measured volts",
                           "volts measured", "building voltage", "service voltage", "voltaje de linea",
                           "voltaje medido"), "voltage", "V",
                          looks=r"[1-5]\d\d(?:\.\d+)?(?:\s*[-/]\s*[1-5]\d\d)?\s*v?(?:ac)?", by_unit=True),
    "frequency": Field(("frequency", "hz", "hertz", "cycles", "cycle", "cyc", "frecuencia"), "frequency", "Hz", looks=r"(?:50|60)\s*(?:hz)?", by_unit=True),
    "phase": Field(("phase", "ph", "phases", "fases", "fase"), looks=r"(?:1|3|single|three)(?:\s*ph(?:ase)?)?"),
    "poles": Field(("poles", "pole", "number of poles", "polos"), looks=r"(?:2|4|6|8|10|12)\s*p?(?:oles?)?"),
    "speed": Field(("speed", "rpm", "motor rpm", "rated rpm", "r/min", "1/min", "rpms", "turns/min", "rev/min", "vueltas", "velocidad"), "speed", "rpm",
                   looks=r"[1-3]?[,. ]?\d{3}(?:\s*/\s*\d{3,4})?\s*(?:rpm)?", distinct=True, by_unit=True),
    "power": Field(("power", "hp", "horsepower", "horse power", "motor hp", "rated hp", "hp rating", "output",
                    "kw", "watts", "potencia", "caballos"), "power", "hp",
                   looks=rf"(?:{_FRACTION}|0?\.\d+|1(?:\.\d+)?)(?:\s*(?:[-,;/&]|to|thru|through)\s*{_FRACTION})*\s*(?:hp)?", distinct=True, by_unit=True),
    "current": Field(("current", "amps", "fla", "full load amps", "rated amps", "nameplate amps", "amp", "amperage",
                      "a", "amperios", "corriente", "amperaje", "amps fla"), "current", "A",
                     looks=r"\d{0,2}\.?\d+(?:\s*[/,;-]\s*\d{0,2}\.?\d+)*\s*a?(?:mps?)?", by_unit=True),
    "capacitor": Field(("capacitor", "cap", "mfd", "uf", "run capacitor", "run cap", "cap mfd", "cap uf",
                        "capacitor mfd", "capacitor uf", "capacitance", "condensador", "capacitor de marcha"),
                       "capacitance", "uF", looks=r"\d{1,2}(?:\.\d)?\s*(?:mfd|uf|\u00b5f)?(?:\s*[/@x]?\s*(?:370|440|330)\s*v?(?:ac)?)?", by_unit=True),
    "capacitor voltage": Field(("capacitor voltage", "cap volts", "cap voltage", "capacitor volts", "cap vac", "vac",
                                "voltaje de capacitor"), "voltage", "V", looks=r"(?:330|370|440)(?:\s*[-/]\s*440)?\s*v?(?:ac)?", by_unit=True),
    "rotation": Field(("rotation", "rot", "spin", "spins", "sentido de giro", "direction", "rotation direction", "giro", "rotacion", "sentido"),
                      looks=r"(?:rev(?:ersible)?|c?cw|(?:counter)?clockwise|(?:anti)?horario|(?:a la )?(?:izq|izquierda|der|derecha)|ambos)"
                            r"[\s\-/(]*(?:[lsp]?s?e|cc?w|lead end|shaft end)?\)?", distinct=True),
    "rotation seen from": Field(("rotation seen from", "viewed from", "rotation end", "seen from"),
                                looks=r"(?:le|se|lead end|shaft end|ose)"),
    "frame": Field(("frame", "frame size", "nema frame", "fr", "carcasa", "bastidor"), looks=r"(?:3\.3|42|48|56|5\.0|5\.6)[a-z]{0,2}"),
    "shaft diameter": Field(("shaft diameter", "shaft dia", "shaft diam", "shaft size", "shaft", "diametro de eje",
                             "diametro de flecha"), "shaft_diameter", "in"),
    "shaft length": Field(("shaft length", "shaft len", "shaft lgth", "shaft lg", "shaft l", "shaft ext", "shaft extension",
                           "largo de eje", "largo de flecha", "shaft"), "shaft_length", "in"),
    "body diameter": Field(("body diameter", "body dia", "motor diameter", "motor dia", "shell diameter", "diameter",
                            "dia", "diametro"), "body_diameter", "in"),
    "body length": Field(("body length", "body len", "body lg", "motor length", "shell length", "length", "len less shaft",
                          "length less shaft", "largo", "largo de motor"), "body_length", "in"),
    "bearing bore": Field(("bearing bore", "bore"), "shaft_diameter", "mm"),
    "mass": Field(("mass", "weight", "wt", "ship weight", "shipping weight", "lbs", "peso"), "mass", "lb", by_unit=True),
    "mounting": Field(("mounting", "mount", "mounting type", "montaje"), words=MOUNTINGS),
    "shaft position": Field(("shaft position", "shaft", "position", "motor position", "mounted", "posicion"), words=SHAFT_POSITIONS),
    "shaft positions": Field(("shaft positions", "positions", "approved positions", "position"), words=SHAFT_POSITIONS | {"all": ("all position", "any", "all positions")}),
    "enclosure": Field(("enclosure", "encl", "housing", "enclosure type", "cubierta"), words=ENCLOSURES),
    "insulation class": Field(("insulation class", "ins class", "insulation", "ins", "class", "insul", "clase",
                               "aislamiento"), words=CLASSES, looks=r"(?:class\s*)?[abfh]"),
    "ambient rating": Field(("ambient rating", "ambient", "max ambient", "amb", "amb temp", "max amb", "max air temp", "temp rating",
                             "ambient temp", "rated ambient", "ambiente"), "air_temperature", "degC",
                            looks=r"(?:40|50|55|60|65|70|75|80|104|122|131|140|149|158|167)\s*(?:\u00b0|deg)?\s*[cf]?", by_unit=True),
    "bearings": Field(("bearings", "bearing", "brg", "bearing type", "baleros", "rodamientos"), words=_more(BEARINGS, _OTHER_BEARINGS), distinct=True),
    "drain plugs": Field(("drain plugs", "drain holes", "drains", "drenajes"), words=DRAIN_PLUGS),
    "protector": Field(("protector", "overload", "thermal protection", "protection", "thermal protector",
                        "thermal overload", "protector termico"), words=PROTECTORS),
    "price": Field(("price", "cost", "net", "net price", "unit price", "your price", "your cost", "each", "sell price",
                    "dealer price", "contractor price", "unit cost", "p unitario", "precio publico", "p publico", "list price", "list", "precio", "costo", "precio neto"), looks=r"[$\u20ac]?\s*[\d,.]+\s*(?:usd|mxn|eur)?"),
    "warranty from installation": Field(("warranty from installation", "warranty", "warranty months", "garantia"), "duration", "months"),
    "warranty from manufacture": Field(("warranty from manufacture",), "duration", "months"),
    "date": Field(("date", "call date", "completed", "completed on", "service date", "work date", "closed", "date of service",
                   "created", "fecha", "scheduled"), looks=r"(?:\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}|\d{1,2}[-/. ](?:de )?[a-z]{3,10}\.?[-/., ]+(?:de )?\d{2,4}|[a-z]{3,9}\.? \d{1,2},? \d{4})(?:[ T,].*)?", distinct=True),
    "place": Field(_PLACES),
    "unit": Field(("unit", "unit id", "unit no", "unit number", "asset", "asset id", "asset tag", "tag", "equipment",
                   "equipment id", "equip id", "equip no", "serial", "serial number", "equipo", "activo")),
    "outdoor temperature": Field(("outdoor temperature", "outdoor temp", "oat", "design temp", "design temperature",
                                  "design db", "outdoor design", "design ambient", "outdoor ambient", "ambient at call",
                                  "ambient on site", "summer design", "outside temp", "outside air", "outdoor db", "outdoor dry bulb", "oa temp", "oa design", "design day", "t ext",
                                  "bulbo seco", "temperatura exterior",
                                  "temp exterior"), "air_temperature", "degF"),
    "elevation": Field(("elevation", "altitude", "elev", "alt", "above sea", "above sea level", "msnm", "altitud", "elevacion"), "elevation", "ft"),
    "airflow": Field(("airflow", "cfm", "air flow", "gasto de aire", "gasto aire", "caudal", "flujo de aire"), "flow", "cfm", by_unit=True),
    "blade diameter": Field(("blade diameter", "fan diameter", "fan dia", "prop dia", "propeller diameter", "diametro helice", "fan size", "blade dia", "diametro de aspa", "diam aspa", "diametro aspa"), "blade_diameter", "in"),
    "coil temperature rise": Field(("coil temperature rise", "coil rise", "coil td", "coil delta t"), "temperature_rise", "degF"),
    "recirculation": Field(("recirculation",), "temperature_rise", "degF"),
    "relative humidity": Field(("relative humidity", "humidity", "rh", "humedad"), "humidity", "%"),
    "age": Field(("age", "unit age", "motor age", "age of unit", "edad", "antiguedad"), "duration", "years"),
    "year installed": Field(("year installed", "install year", "installed", "installed year", "installation year",
                             "year built", "vintage", "ano de instalacion", "instalado")),
}  # fmt: skip
_OF_NAMEPLATE = (
    "voltage", "frequency", "phase", "power", "current", "speed", "poles", "capacitor", "capacitor voltage",
    "rotation", "rotation seen from", "frame", "shaft diameter", "shaft length", "body diameter",
    "body length", "mounting", "enclosure", "insulation class", "ambient rating", "bearings",
    "drain plugs", "kind", "highest voltage",
)  # fmt: skip
_OF_SITE = ("outdoor temperature", "elevation", "line voltage", "highest line voltage")
OF_TABLE = {
    CATALOG: ("maker", "model", "description", *_OF_NAMEPLATE, "bearing bore", "mass", "shaft positions",
              "protector", "price", "warranty from installation", "warranty from manufacture"),
    CALLS: ("date", "place", "description", *_OF_NAMEPLATE, "shaft position", *_OF_SITE),
    NAMEPLATES: ("place", "description", *_OF_NAMEPLATE, "shaft position", *_OF_SITE),
    UNITS: ("unit", "description", *_OF_NAMEPLATE, "shaft position", *_OF_SITE, "airflow", "blade diameter",
            "coil temperature rise", "recirculation", "relative humidity", "age", "year installed"),
}  # fmt: skip


@dataclass(frozen=True)
class Match:
    """Table column, with its matching field ("" if none) and unit.

    ``how`` is BY_NAME, LIKELY (a similar name, or only some cells match) or BY_CONTENT.
    """

    heading: str
    at: int
    field: str = ""
    unit: str = ""
    how: str = ""


@dataclass(frozen=True)
class Problem:
    """Cell that could not be used, or an entire row if ``heading`` is "".

    Attributes
    ----------
    line : int
        Line number.
    heading : str
        Column heading, or "" for a row.
    given : str
        Cell text.
    reason : InputError or Message
        Error or message that explains the problem.
    stops : bool
        True if the whole row is skipped.
    """

    line: int
    heading: str
    given: str
    reason: InputError | Message
    stops: bool


@dataclass
class Imported:
    """Data read from a table.

    Attributes
    ----------
    table : str
        Type of table, one of KINDS_OF_TABLE.
    sheet : Sheet
        Table that was read.
    matches : tuple[Match, ...]
        Match for each column.
    assumed : list[Message]
        Values that were assumed because they are not in the table.
    facts : dict[int, dict[str, str]]
        Values by line and field, written as a person would type them.
    problems : list[Problem]
        All cells and rows that could not be used.
    """

    table: str
    sheet: Sheet
    matches: tuple[Match, ...]
    assumed: list[Message] = field(default_factory=list)
    facts: dict[int, dict[str, str]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    @property
    def left_out(self) -> set[int]:
        """Line numbers of the skipped rows."""
        return {one.line for one in self.problems if one.stops}

    @property
    def lost(self) -> LeftOut | None:
        """Skipped rows and cells with their reasons, or None if everything was used."""
        first: dict[int, InputError | Message] = {}
        for one in sorted(self.problems, key=lambda one: (one.line, not one.stops)):
            if one.stops:
                first.setdefault(one.line, one.reason)
        cells = tuple(
            (one.line, one.heading, one.reason) for one in self.problems if one.line not in first
        )
        if not self.problems:
            return None
        return LeftOut(
            self.table, self.sheet.file, len(self.sheet.rows), tuple(first.items()), cells
        )

    def kinds_of_problem(self) -> list[tuple[Problem, int]]:
        """Return the first problem of each type and its count, most frequent first."""
        first, counts = {}, Counter()
        for one in self.problems:
            kind = (
                one.heading,
                one.stops,
                getattr(one.reason, "key", ""),
                str(getattr(one.reason, "accepted", "")),
            )
            first.setdefault(kind, one)
            counts[kind] += 1
        return [(first[kind], count) for kind, count in counts.most_common()]

    def drop(self, line: int, heading: str, given: str, reason) -> None:
        """Skip the row on this line and record the reason."""
        self.facts.pop(line, None)
        self.problems.append(Problem(line, heading, given, reason, True))


_TITLES = 3  # maximum number of title rows that may be mistaken for headings


def import_table(
    table: str, sheet: Sheet, columns: dict[str, str] | None = None, currency: str = ""
) -> Imported:
    """Read a sheet as one of the types of tables in KINDS_OF_TABLE.

    ``columns`` is the same as in `matched`. ``currency`` applies to prices if the file does not
    state a currency.

    Raises
    ------
    InputError
        If no column is recognized, or if a heading of this package is misspelled.
    """
    own = _own_columns(table, sheet.headings)
    matches = matched(table, sheet, columns or own)
    below, lower = sheet, matches
    for _ in range(_TITLES):  # a title may look like headings
        if any(one.field for one in lower if (one.field, one.how) != ("description", BY_CONTENT)):
            sheet, matches = below, lower
            break
        if len(below.rows) < 2:
            break
        below = below.below()
        lower = matched(table, below, columns)
    if not any(one.field for one in matches):
        known = ", ".join(OF_TABLE[table][:12])
        raise InputError(
            Message("import.columns"),
            quoted(", ".join(sheet.headings)),
            Message("import.such_as", names=known),
        )
    found = Imported(table, sheet, *_priced(matches, sheet, currency))
    used = [one for one in found.matches if one.field]
    dates = {one.at: _date_reader(one, sheet, None if own else found.assumed)
             for one in used if one.field == "date"}  # fmt: skip
    for line, row in zip(sheet.lines, sheet.rows):
        facts: dict[str, str] = {}
        count = sheet.uneven.get(line, 0)
        if count > sheet.width or (own and count):  # its cells are probably in the wrong columns
            reason = Message("import.cells", count=count, headings=sheet.width)
            found.problems.append(Problem(line, "", "", reason, True))
            continue
        for one in used:
            text = _decimal(row[one.at]) if one.field != "description" else row[one.at]
            if text.upper() in _EMPTY:
                continue
            try:
                new = {"date": dates[one.at](text)} if one.at in dates else _cell(one, text)
            except InputError as error:
                found.problems.append(Problem(line, one.heading, text, error, False))
                continue
            facts = (new | facts) if one.field == "description" else (facts | new)
        found.facts[line] = _with_spans(facts)
    return found


def _with_spans(facts: dict[str, str]) -> dict[str, str]:
    """Return the values in a row, with the lowest and highest voltages combined into one range."""
    spans = {}
    for name in ("voltage", "line voltage"):
        high = facts.get(f"highest {name}")
        if high is not None:
            ends = [read(one, "voltage", name) for one in (facts.get(name, high), high)]
            low, high = min(one.low for one in ends), max(one.high for one in ends)
            spans[name] = f"{low:g}-{high:g} V" if low < high else f"{high:g} V"
    return {name: value for name, value in facts.items() if not name.startswith("highest ")} | spans


def open_catalog(path: str | os.PathLike, currency: str = "") -> Catalog:
    """Read the motors from a table with any headings.

    Nonstandard headings are matched with fields. Matches that were saved next to the file
    (``NAME.columns.toml``) are used. ``currency`` applies to prices if the file does not state a
    currency. The catalog's ``left_out`` contains the rows and cells that could not be used. Raises
    the same InputErrors as `records.catalog.catalog_of`, `read_sheet` and `imported_catalog`.
    """
    content = read_bytes(path, file_of(CATALOG), LARGEST_SHEET)
    known = saved_matches(path)
    maker = known.get("maker") or maker_of(path)
    return _catalog(path, content, maker, lambda: _table(CATALOG, path, content, currency))


def catalog_from(name: str, content: bytes, inside: int = LARGEST_INSIDE) -> Catalog:
    """Return the motors in a file, given its contents. See `open_catalog`.

    ``inside`` is the same as in `sheet_of`.
    """
    return _catalog(
        name,
        content,
        maker_of(name),
        lambda: import_table(CATALOG, sheet_of(name, content, "", inside)),
    )


def _catalog(name, content: bytes, maker: str, table: Callable[[], Imported]) -> Catalog:
    """Return the motors in a file, using the imported ``table`` if any row cannot be used as is."""
    if _OUR_CATALOG not in content[:_FIRST_LINE].split(b"\n")[0].lower():
        return catalog_in(table(), maker)
    return _all_or_some(
        lambda: Catalog(catalog_of(decoded(content, name, file_of(CATALOG)))),
        lambda: catalog_in(table(), maker),
    )


def _all_or_some(whole: Callable, some: Callable):
    """Return the ``whole`` table, or only ``some`` of its rows if others cannot be used.

    Raises the error of the ``whole`` table if no row can be used.
    """
    try:
        return whole()
    except InputError as error:
        first = error
    try:
        return some()
    except InputError as error:
        raise (
            first if isinstance(error.given, Message) and error.given.key == _NO_ROWS else error
        ) from None


def open_calls(path: str | os.PathLike, dated: bool = True) -> Calls:
    """Read service calls, or nameplates if ``dated`` is False. See `open_catalog`."""
    content = read_bytes(path, calls_file.FILE, calls_file.LARGEST_FILE)

    def some() -> Calls:
        return imported_calls(_table(CALLS if dated else NAMEPLATES, path, content))

    if not _has_our_headings(first_headings(content)):
        return some()
    return _all_or_some(lambda: calls_of(path, content, dated), some)


def maker_of(path: str | os.PathLike) -> str:
    """Return the file name, used as the manufacturer's name if a table does not give one."""
    return Path(path).stem.replace("_", " ").replace("-", " ")


_OUR_CATALOG, _FIRST_LINE = b"ratings [", 20_000  # in its first line, of at most this many bytes


def _has_our_headings(headings: list[str]) -> bool:
    """Return True if most headings are this package's own headings with units."""
    known = [_with_unit(one)[0] in HEADINGS for one in headings]
    return any("[" in one for one in headings) and sum(known) > len(known) / 2


def _own_columns(table: str, headings: tuple[str, ...]) -> dict[str, str] | None:
    """Return the match for each heading, or None if the headings are not this package's own.

    Raises
    ------
    InputError
        If a required heading is missing, or if a heading is repeated or misspelled.
    """
    written = [re.sub(r" \(\d+\)$", "", one) for one in headings]  # numbered by `Sheet`
    if table == CATALOG and any(one.lower().startswith("ratings [") for one in written):
        # A price without a currency is not refused: the prices may have the currency.
        priced = [f"{one} [USD]" if one.strip().lower() == "price" else one for one in written]
        places = columns_in(priced)
        named = {at: (_OTHER_NAMES.get(column.name, column.name), unit)
                 for column, at, unit in places if at is not None}  # fmt: skip
    elif table in (CALLS, NAMEPLATES) and _has_our_headings(written):
        named = calls_file.columns_in(written)
    else:
        return None
    columns = {}
    for at, heading in enumerate(headings):
        name, unit = named.get(at, ("", ""))
        unit = "" if name == "price" and "[" not in heading else unit
        columns[heading] = (f"{name} [{unit}]" if unit else name) if name in OF_TABLE[table] else ""
    return columns


_OTHER_NAMES = {"ratings": "power", "currents": "current"}


def open_table(table: str, path: str | os.PathLike) -> Imported:
    """Read a file as a table, using the matches saved next to it, if any."""
    return _table(table, path, read_bytes(path, SHEET_FILE, LARGEST_SHEET))


def _table(table: str, path: str | os.PathLike, content: bytes, currency: str = "") -> Imported:
    known = saved_matches(path)
    sheet = sheet_of(Path(path).name, content, known.get("sheet", ""))
    return import_table(table, sheet, known.get("columns"), currency)


def saved_matches(path: str | os.PathLike) -> dict:
    """Return the matches that are saved next to a table, or an empty dict."""
    saved = Path(path).with_suffix(MATCH_ENDING)
    return read_matches(saved) if saved.is_file() else {}


def read_matches(path: str | os.PathLike) -> dict:
    """Read saved matches from a file. Raises InputError if the file is damaged."""
    found = toml_table(read_text(path, MATCH_FILE, LARGEST_MATCH), MATCH_FILE)
    columns = found.get("columns", {})
    facts = found | (columns if isinstance(columns, dict) else {})
    for name, value in facts.items():
        if not isinstance(value, str) and value is not columns:
            raise InputError(quoted(name), as_typed(value), Message("error.field.text"))
    if not isinstance(columns, dict):
        raise InputError("columns", as_typed(columns), Message("import.columns_table"))
    return found


MATCH_FILE = Message("import.match_file")
LARGEST_MATCH = 200_000  # bytes


def matched(table: str, sheet: Sheet, columns: dict[str, str] | None = None) -> tuple[Match, ...]:
    """Return the Match for each column of a ``sheet``.

    ``columns`` contains the matches by heading, as written by `save_matches`. A match is text such
    as "power [hp]", or "" for a column that is not used. Headings without an entry are matched by
    name and content.
    """
    columns = columns or {}
    matches: dict[int, Match] = {}
    scores = []
    cleaned = [_known(sheet.column(at)) for at in range(len(sheet.headings))]
    for at, heading in enumerate(sheet.headings):
        if heading in columns:
            name, unit = _with_unit(columns[heading])
            if name and name not in OF_TABLE[table]:
                raise InputError(quoted(heading), quoted(name), ", ".join(OF_TABLE[table]))
            matches[at] = Match(
                heading, at, name, unit or FIELDS[name].unit if name else "", BY_NAME
            )
            continue
        cells = cleaned[at]
        for name in OF_TABLE[table]:
            score, how = _score(heading, cells, name, table)
            if score:
                scores.append((score, at, name, how))
    taken = {one.field for one in matches.values()}
    if table == CATALOG and not any(name == "model" for *_, name, _ in scores):
        scores += [(0.4, at, "model", BY_CONTENT) for at in _codes(cleaned)[:1]]
    for _, at, name, how in sorted(scores, key=lambda one: (-one[0], one[1])):
        if at not in matches and name not in taken:
            heading = sheet.headings[at]
            unit = _unit(heading, cleaned[at], FIELDS[name])
            matches[at] = Match(heading, at, name, unit, how)
            taken.add(name)
    return tuple(matches.get(at, Match(heading, at)) for at, heading in enumerate(sheet.headings))


CURRENCIES = ("USD", "MXN", "CAD", "EUR", "GTQ", "CRC", "HNL", "NIO", "PAB", "DOP", "COP", "PEN")
_CURRENCY = Pattern(
    rf"(?<![A-Z])(?P<code>{'|'.join(CURRENCIES)})(?![A-Z])"
    r"|(?P<us>US ?\$|U\.?S\.? DOLLARS?|DLLS)|(?P<euro>\u20ac)"
)


def _priced(
    matches: tuple[Match, ...], sheet: Sheet, currency: str
) -> tuple[tuple[Match, ...], list[Message]]:
    """Return the matches with the currency as the unit of the prices, and any assumptions made.

    The currency is in the heading, in the cells, in the rows above the headings or in another
    heading. Otherwise it is ``currency``, or US dollars for prices with "$" in an English
    table. The unit is "" if the currency is not known.
    """
    at = next((at for at, one in enumerate(matches) if one.field == "price"), None)
    if at is None or matches[at].unit:
        return matches, []
    match, cells = matches[at], sheet.column(matches[at].at)
    unit, assumed = _currency_in(match.heading, cells, sheet) or currency, []
    signs = any("$" in text for text in (match.heading, *cells))
    if not unit and signs and not _is_spanish(sheet.headings):
        unit, count = "USD", sum(map(bool, cells))
        assumed = [Message("import.assumed", field="currency", value=unit, count=count)]
    return (*matches[:at], replace(match, unit=unit), *matches[at + 1 :]), assumed


def _currency_in(heading: str, cells: list[str], sheet: Sheet) -> str:
    """Return the currency of the prices in a column, or "" if there is none or more than one."""
    for texts in ((heading,), cells, (*sheet.above, *sheet.headings)):
        counts = Counter(code for text in texts for code in _currencies(text))
        if len(counts) == 1 or (counts and texts is cells):
            return counts.most_common(1)[0][0]
    return ""


def _is_spanish(headings: tuple[str, ...]) -> bool:
    """Return True if the headings are in Spanish."""
    return len(_SPANISH.findall(" ".join(map(_plain, headings)))) > 1


_SPANISH = Pattern(
    r"\b(?:de|del|fecha|orden|equipo|giro|sentido|ciudad|colonia|precio|costo|marca|fabricante|modelo|clave"
    r"|potencia|caballaje|voltaje|voltios|tension|corriente|amperaje|amperios|consumo|velocidad|vueltas|rotacion"
    r"|condensador|baleros|rodamiento|observaciones|notas|azotea|catalogo|publico|ubicacion|altitud)\b"
)


def _currencies(text: str) -> list[str]:
    """Return the currencies in a text."""
    found = _CURRENCY.finditer(text.upper())
    return [one["code"] or ("USD" if one["us"] else "EUR") for one in found]


def _codes(columns: list[list[str]]) -> list[int]:
    """Return the indices of columns that probably contain item numbers."""
    code = re.compile(r"(?=\S*\d)[A-Za-z0-9][A-Za-z0-9./-]{2,19}")
    found = []
    for at, cells in enumerate(columns):
        shaped = [
            cell for cell in cells if code.fullmatch(cell) and not _LIKE_A_FIELD.fullmatch(cell)
        ]
        if len(shaped) >= 0.7 * max(map(len, columns)) and len(set(shaped)) >= 0.9 * len(shaped):
            found.append(at)
    return found


_LIKE_A_FIELD = Pattern(r"[\d./,-]{1,7}|[1-5]\d\d[-/].*")  # a number or a voltage


def save_matches(found: Imported, maker: str = "") -> str:
    """Return the matches as TOML, for use with other tables that have the same headings.

    ``maker`` is the manufacturer, if the table does not name one.
    """
    import tomlkit

    document = tomlkit.document()
    document["table"] = found.table
    if found.sheet.sheet:
        document["sheet"] = found.sheet.sheet
    if maker:
        document["maker"] = maker
    columns = tomlkit.table()
    for one in found.matches:
        columns[one.heading] = f"{one.field} [{one.unit}]" if one.unit else one.field
    document["columns"] = columns
    return tomlkit.dumps(document)


def _with_unit(text: str) -> tuple[str, str]:
    match = re.fullmatch(r"\s*(.*?)\s*(?:\[\s*(.*?)\s*\])?\s*", text)
    return match[1].lower().replace("_", " "), match[2] or ""


def _known(cells: list[str]) -> list[str]:
    """Return the first 500 cells that are not marked as unknown, each up to LONGEST_CELL."""
    found = [cell[:LONGEST_CELL] for cell in cells if cell.upper() not in _EMPTY]
    return [_decimal(cell) for cell in found[:500]]


def _decimal(cell: str) -> str:
    """Replace the decimal comma in "1,9" with a period, but not the comma in "1,075"."""
    if "." in cell or re.search(r"\d,\d+,", cell):
        return cell
    return re.sub(r"(?<=\d),(?=\d{1,2}(?!\d))", ".", cell)


LONGEST_HEADING = 200  # characters that are compared with the names of fields
_ACCENTS = str.maketrans("\u00e1\u00e9\u00ed\u00f3\u00fa\u00fc\u00f1", "aeiouun")


@lru_cache(maxsize=1024)
def _plain(heading: str) -> str:
    """Return the words in a heading in lower case, without the unit or accents."""
    text = re.sub(r"[\[(].*?[\])]", " ", heading[:LONGEST_HEADING].lower().translate(_ACCENTS))
    text = re.sub(r" \(\d+\)$", "", text).replace("#", " no ").replace("\u00f8", " dia ")
    words = re.sub(r"[^a-z0-9/]+", " ", text).split()
    return " ".join(words[:-1] if len(words) > 1 and words[-1] in _LAST else words)


_LAST = {"in", "inch", "inches", "ft", "mm", "cm", "m", "lb", "lbs", "kg", "f", "c", "usd", "mxn"}


def _score(heading: str, cells: list[str], field: str, table: str) -> tuple[float, str]:
    """Return a score for the match between a column and a field, and the basis of the match."""
    known, name = FIELDS[field], _plain(heading)
    alike = [_alike(name, one) for one in known.names]
    by_name = max(alike)
    earlier = -0.001 * alike.index(by_name)  # "net price" rather than "list price"
    if not cells:
        return (by_name if by_name == 1 else 0), BY_NAME
    unit = _unit(heading, cells, known)
    content = _content(cells, known, unit)
    if field == "description" and by_name < 1:
        return _as_description(by_name, cells)
    if content is None:
        return (by_name, BY_NAME if by_name == 1 else LIKELY) if by_name >= 0.75 else (0, "")
    if by_name == 1 and content >= 0.1:
        return 1 + content + earlier, BY_NAME if content >= 0.5 else LIKELY
    if by_name == 1 and field == "date" and all(map(_DAY_NUMBER.fullmatch, cells)):
        return 1, LIKELY
    if by_name >= 0.6 and content >= 0.6:
        return by_name + content, LIKELY
    kinds = _kinds_in(heading) or _kinds_of(tuple(cells[:_SAMPLE]))
    if known.by_unit and known.kind in kinds and content >= 0.6 and _is_only(field, heading, table):
        return 0.9 * content, LIKELY
    if kinds and known.kind not in kinds:
        return 0, ""
    sufficient = known.distinct and unit in ("", known.unit)
    if sufficient and content >= 0.9 and len(cells) >= 3 and not name.isdigit():
        return 0.5 * content, BY_CONTENT
    if field == "price" and _named_currency(heading, cells) and content >= 0.5:
        return 0.5 * content, BY_CONTENT
    return 0, ""


_SAMPLE = 40  # cells of a column that are searched for units and nameplate data
_SUPPLY = Pattern("supply|line|meas|site|linea|medid|suminist")


def _is_only(field: str, heading: str, table: str) -> bool:
    """Return True if a unit identifies this field among all fields with the same unit."""
    if field == "ambient rating":
        return table == CATALOG  # in other tables, it may be the outdoor temperature
    return field not in ("voltage", "line voltage") or (field == "line voltage") == bool(
        _SUPPLY.search(_plain(heading))
    )


@lru_cache(maxsize=1024)
def _kinds_in(heading: str) -> set[str]:
    """Return the types of quantity that match the unit in a heading."""
    inner = re.findall(r"(?<![A-Za-z])(?:V|HP|RPM|MFD|Hz)(?![A-Za-z])", heading)
    words = re.findall(r"[\[(]([^\])]+)[\])]", heading) or [*inner, *heading.split()[-1:]]
    return {kind for kind in _KINDS for word in words if _as_usual(word.strip(" ."), kind)}


@lru_cache(maxsize=1024)
def _kinds_of(cells: tuple[str, ...]) -> set[str]:
    """Return the types of quantity that match the units in most cells."""
    if not any(re.search(r"\d.*[A-Za-z\u00b0\u00b5\"]", cell) for cell in cells):
        return set()
    return {
        kind for kind in _KINDS if sum(map(partial(_has_unit, kind=kind), cells)) > 0.8 * len(cells)
    }


@lru_cache(maxsize=4096)
def _has_unit(cell: str, kind: str) -> bool:
    with suppress(InputError):
        return bool(read(cell, kind, "cell"))
    return False


_KINDS = tuple(dict.fromkeys(one.kind for one in FIELDS.values() if one.kind))


def _as_description(by_name: float, cells: list[str]) -> tuple[float, str]:
    """Return the score of a column of free text that may contain nameplate data."""
    if _kinds_of(tuple(cells[:_SAMPLE])):
        return 0, ""
    if by_name >= 0.75:
        return by_name, LIKELY
    long = [cell for cell in cells if len(cell.split()) > 2 or len(cell) > 15][:_SAMPLE]
    share = sum(bool(_entry(cell)) for cell in long) / min(len(cells), _SAMPLE)
    return (0.4 * share, BY_CONTENT) if share >= 0.3 else (0, "")


def _named_currency(heading: str, cells: list[str]) -> bool:
    """Return True if a heading or most cells contain a currency code or symbol."""
    signs = [bool(_currencies(text) or "$" in text) for text in (heading, *cells)]
    return signs[0] or sum(signs) > 0.5 * len(cells)


def _alike(name: str, known: str) -> float:
    """Return the similarity of two names, from 0 for no match to 1 for equal words."""
    if name == known or name.replace(" ", "") == known.replace(" ", ""):
        return 1.0
    words, wanted = set(re.split("[ /]", name)), set(known.split())
    if wanted <= words and len(known) > 1:
        return 0.7 + 0.2 * len(wanted) / len(words)
    # The ratio is limited by the lengths. A heading can be of any length.
    near = 2 * min(len(name), len(known)) > 0.84 * (len(name) + len(known))
    if len(name) > 4 and near and SequenceMatcher(None, name, known).ratio() > 0.84:
        return 0.75
    return 0.0


def _content(cells: list[str], known: Field, unit: str) -> float | None:
    """Return the fraction of cells that a field accepts, or None if it accepts any text."""
    if known.looks and unit in ("", known.unit):
        pattern = re.compile(known.looks, re.IGNORECASE)
        return sum(bool(pattern.fullmatch(cell)) for cell in cells) / len(cells)
    if known.words is not None or known.kind:
        distinct = Counter(cells)
        can = (
            partial(_words, words=known.words)
            if known.words
            else partial(_amount, kind=known.kind, unit=unit)
        )
        return sum(count for cell, count in distinct.items() if can(cell)) / len(cells)
    return None


# Possible units in a heading or column, with the range of typical values for a motor.
_SPANS = {
    "shaft_diameter": {"in": (0.2, 1.2), "mm": (5, 30)},
    "shaft_length": {"in": (0.5, 14), "mm": (15, 360), "cm": (1.5, 36)},
    "body_length": {"in": (1.5, 15), "mm": (40, 380), "cm": (4, 38)},
    "body_diameter": {"in": (2.5, 10), "mm": (64, 250), "cm": (6.4, 25)},
    "blade_diameter": {"in": (10, 60), "mm": (250, 1500), "cm": (25, 150)},
    "air_temperature": {"degC": (10, 85), "degF": (60, 185)},
    "power": {"hp": (0.02, 3), "kW": (0.015, 2.2), "W": (15, 2300)},
    "mass": {"lb": (2, 60), "kg": (1, 28)},
}


def _unit(heading: str, cells: list[str], known: Field) -> str:
    """Return the unit in a heading, or the unit that is most plausible for the cells."""
    if not known.kind:
        return ""
    for word in re.findall(r"[A-Za-z\u00b0\u00b5\"%/0-9]+", heading)[::-1]:
        if unit := _as_usual(word, known.kind):
            return unit
    spans = _SPANS.get(known.kind)
    if known.kind == "elevation" and _METERS.search(_plain(heading)):
        return "m"
    if spans is None:
        return known.unit
    figures = [float(cell) for cell in cells if re.fullmatch(r"\d+(?:\.\d+)?|\.\d+", cell)]

    def share(unit: str) -> float:
        low, high = spans[unit]
        return sum(low <= one <= high for one in figures) / max(1, len(figures))

    units = [known.unit, *(one for one in spans if one != known.unit)]
    return max(units, key=share) if figures else known.unit


_METERS = Pattern("msnm|metros|altitud(?!e)|elevacion|nivel")


def _as_usual(word: str, kind: str) -> str:
    """Return the standard spelling of a unit, or "" if the word is not a unit."""
    return _spellings(kind).get(word.lower().replace("\u00b5", "u").replace("\u03bc", "u"), "")


@cache
def _spellings(kind: str) -> dict[str, str]:
    """Return the standard spelling of each unit word of a kind, by the word in lower case."""
    words = KINDS[kind].words
    first = {name: word for word, name in reversed(words.items())}
    return {word.lower(): first[name] for word, name in words.items()}


@lru_cache(maxsize=4096)
def _amount(cell: str, kind: str, unit: str) -> str:
    """Return a cell with its unit for `core.units.read`, or "" if it is unreadable."""
    if kind == "shaft_diameter":
        cell = _BY.split(cell)[0]  # diameter x length
    decimal = re.sub(r"^(\d{1,2}),(\d{3})$", r"\1.\2", cell)  # 5,625 in if 5625 in is impossible
    for text in (cell, f"{cell} {unit}", f"{decimal} {unit}"):
        try:
            read(text, kind, "cell")
        except InputError:
            continue
        return text
    return ""


_BY = Pattern(r"\s*[xX\u00d7]\s*")


def _words(cell: str, words: dict) -> tuple[str, ...]:
    """Return the keys of the words in a cell, or () if any word is unknown."""
    found = [
        spelled(part.strip(), words)
        for part in re.split(r"[;,/&+]|\band\b|\by\b", cell)
        if part.strip()
    ]
    return () if None in found else tuple(dict.fromkeys(found))


def _cell(match: Match, text: str) -> dict[str, str]:
    """Return a cell's values by field, as a person would type them. May raise InputError."""
    known = FIELDS[match.field]
    if match.field in _READERS:
        return _READERS[match.field](match, text)
    if known.words is not None:
        found = _words(text, known.words)
        if not found:
            raise InputError(match.heading, quoted(text), one_word_of(known.words))
        return {match.field: "; ".join(found)}
    if known.kind:
        found = _amount(text, known.kind, match.unit)
        return {match.field: found or read(text, known.kind, match.heading, match.unit).text}
    return {match.field: text}


@lru_cache(maxsize=4096)
def _entry(text: str) -> dict[str, str]:
    """Return the fields in a nameplate entry, or an empty dict if there are none."""
    from airover.records.nameplate_text import read_nameplate  # its patterns are slow to compile

    try:
        return read_nameplate(text).fields
    except InputError:
        return {}


def _nameplate_words(label: str, wanted: tuple[str, ...]) -> Callable:
    """Return a reader that interprets a cell as a nameplate entry that follows a label."""

    def reader(match: Match, text: str) -> dict[str, str]:
        fields = _entry(f"{label} {text}")
        found = {name: fields[key] for name in wanted if (key := name.replace(" ", "_")) in fields}
        if wanted[0] not in found:
            raise InputError(
                match.heading,
                quoted(text),
                Message("import.such_as_cell", example=_EXAMPLES[wanted[0]]),
            )
        return found

    return reader


_EXAMPLES = {"voltage": "208-230", "capacitor": "7.5/370", "rotation": "CCWLE", "phase": "1", "poles": "6",
             "power": "1/3", "current": "1.9", "speed": "1075", "price": "123.50", "date": "2026-03-15"}  # fmt: skip
_MONTHS_AS_FRACTION = Pattern(r"\d{4}-(\d{2})-(\d{2})")  # 1/3 saved as a date


def _power(match: Match, text: str) -> dict[str, str]:
    """Read horsepower ratings ("1/2-1/3-1/4") and separate them with semicolons."""
    text = _MONTHS_AS_FRACTION.sub(lambda one: f"{int(one[1])}/{int(one[2])}", text)
    unit = match.unit
    own = re.search(r"(hp|kw|w|watts?)\.?$", text.strip(), re.IGNORECASE)
    if own:
        unit, text = own[1], text[: own.start()]
    parts = re.findall(
        r"\d+\s*/\s*\d+|\d*\.\d+|\d+", text.replace(",", "; ") if "/" in text else text
    )
    parts = [part.replace(" ", "") for part in parts]
    try:
        for part in parts:
            read(f"{part} {unit}", "power", match.heading)
    except InputError:
        parts = []
    if not parts or re.search(r"[a-z]{3,}", re.sub(r"to|thru|through", "", text.lower())):
        raise InputError(match.heading, quoted(text), Message("import.such_as_cell", example="1/3"))
    return {"power": "; ".join(f"{part} {unit}" for part in parts)}


def _current(match: Match, text: str) -> dict[str, str]:
    """Read the full-load current at each rating and separate the values with semicolons."""
    parts = re.split(
        r"\s*[/;&]\s*|\s+-\s+|(?<=\d)-(?=\d)|,\s+",
        re.sub(r"(?i)\s*(?:fla|a(?:mps?)?)\.?\s*$", "", text),
    )
    amounts = [_amount(part, "current", match.unit or "A") for part in parts]
    if not all(amounts):
        raise InputError(match.heading, quoted(text), Message("import.such_as_cell", example="1.9"))
    return {"current": "; ".join(amounts)}


def _speed(match: Match, text: str) -> dict[str, str]:
    """Read the speed. Raises InputError for a multispeed motor."""
    text = re.sub(r"(?<!\d)([1-3])[., \u00a0](\d{3})(?!\d)", r"\1\2", text)
    parts = [_amount(part, "speed", match.unit) for part in re.split(r"\s*[/;&]\s*", text)]
    if not all(parts):
        raise InputError(
            match.heading, quoted(text), Message("import.such_as_cell", example="1075")
        )
    if len(parts) > 1:
        raise InputError(match.heading, quoted(text), Message("import.one_speed"))
    return {"speed": parts[0]}


def _digit(name: str, pattern: str) -> Callable:
    def reader(match: Match, text: str) -> dict[str, str]:
        plain = {"single": "1", "three": "3"}.get(text.lower().split()[0].split("-")[0], text)
        found = re.match(pattern, plain.strip(), re.IGNORECASE)
        if not found:
            raise InputError(
                match.heading, quoted(text), Message("import.such_as_cell", example=_EXAMPLES[name])
            )
        return {name: found[1]}

    return reader


def _price(match: Match, text: str) -> dict[str, str]:
    """Read a price, which must be in the currency of its column."""
    plain = re.sub(r"[$\s]", "", _CURRENCY.sub("", text.upper()))
    if re.fullmatch(r"\d{1,3}(?:\.\d{3})*,\d{1,2}|\d{1,3}(?:\.\d{3})+", plain):  # 1.234,50
        plain = plain.replace(".", "").replace(",", ".")
    plain = plain.replace(",", "")
    if not re.fullmatch(r"\d{1,6}(?:\.\d+)?", plain):
        raise InputError(
            match.heading, quoted(text), Message("import.such_as_cell", example="123.50")
        )
    if not match.unit:
        raise InputError(match.heading, Message("import.no_currency"), Message("import.currency"))
    if any(one != match.unit for one in _currencies(text)):
        accepted = Message("import.in_currency", currency=match.unit)
        raise InputError(match.heading, quoted(text), accepted)
    return {"price": plain}


def _description(match: Match, text: str) -> dict[str, str]:
    """Return the nameplate data in free text, or an empty dict if there are none."""
    return {name.replace("_", " "): value for name, value in _entry(text[:LONGEST_CELL]).items()}


def _voltage(match: Match, text: str) -> dict[str, str]:
    """Read a voltage, which may be followed by the frequency and phase ("208-230/1")."""
    volts = re.fullmatch(r"(.*[1-5]\d\d)\s*[/-]\s*([13])(?:\s*ph)?", text, re.IGNORECASE)
    if volts and not re.search(r"/\s*[56]0\s*$", volts[1]):
        return _AS_VOLTS(match, volts[1]) | {"phase": volts[2]}
    return _AS_VOLTS(match, text)


_AS_VOLTS = _nameplate_words("VOLTS", ("voltage", "frequency", "phase"))


def _rotation(match: Match, text: str) -> dict[str, str]:
    """Read the rotation in English or Spanish, and the end from which it is viewed."""
    plain = " ".join(text.lower().translate(_ACCENTS).split())
    found = _AS_ROTATION(match, _ROTATIONS.get(plain, text))
    end = _END_IN_HEADING.search(match.heading.upper())
    if end and found["rotation"] != "reversible":
        known = "lead end" if end["end"].startswith("L") else "shaft end"
        found.setdefault("rotation seen from", known)
    return found


_AS_ROTATION = _nameplate_words("ROT", ("rotation", "rotation seen from"))
_ROTATIONS = {"horario": "CW", "derecha": "CW", "a la derecha": "CW", "antihorario": "CCW",
              "izquierda": "CCW", "a la izquierda": "CCW", "ambos": "REV"}  # fmt: skip
_END_IN_HEADING = Pattern(r"(?<![A-Z])(?P<end>LE|LEAD END|SE|SHAFT END)(?![A-Z])")


def _shaft(match: Match, text: str) -> dict[str, str]:
    """Read a shaft diameter, or a shaft diameter and length ("diameter x length")."""
    diameter, *length = _BY.split(text)
    kinds = {"shaft diameter": ("shaft_diameter", diameter)}
    if length:
        kinds["shaft length"] = ("shaft_length", length[0])
    found = {name: _amount(cell, kind, match.unit) for name, (kind, cell) in kinds.items()}
    if not all(found.values()) or len(length) > 1:
        read(f"{diameter} {match.unit}", "shaft_diameter", match.heading)
        given = Message("import.such_as_cell", example='1/2"')
        raise InputError(match.heading, quoted(text), given)
    return found


_READERS: dict[str, Callable[[Match, str], dict[str, str]]] = {
    "power": _power,
    "current": _current,
    "speed": _speed,
    "voltage": _voltage,
    "capacitor": _nameplate_words("CAP", ("capacitor", "capacitor voltage")),
    "rotation": _rotation,
    "shaft diameter": _shaft,
    "phase": _digit("phase", r"([13])(?![0-9])"),
    "poles": _digit("poles", r"(1?[02468])(?![0-9])"),
    "price": _price,
    "description": _description,
}


def _date_reader(match: Match, sheet: Sheet, assumed: list[Message] | None) -> Callable[[str], str]:
    """Return a reader that converts the dates in a column to YYYY-MM-DD.

    In dates such as 3/4/2026, the day is in the position where other cells have a number above 12.
    If no number exceeds 12, the day is assumed to come first in a Spanish table and the month in
    any other table, and the assumption is added to ``assumed``. If ``assumed`` is None, these dates
    are rejected instead.
    """
    pairs = [
        tuple(map(int, one.groups()))
        for cell in sheet.column(match.at)
        if (one := re.match(r"(\d{1,2})[-/.](\d{1,2})[-/.]\d{2,4}", cell))
    ]
    either = sum(one != other for one, other in pairs)
    first_over, second_over = (any(pair[at] > 12 for pair in pairs) for at in (0, 1))
    day_first = first_over and not second_over
    open_order = either and not first_over and not second_over
    if open_order and assumed is not None:
        day_first = _is_spanish(sheet.headings)
        assumed.append(Message(f"import.first.{'day' if day_first else 'month'}", count=either))

    def reader(text: str) -> str:
        named = _DAY_NAMED.match(text.lower()) or _MONTH_NAMED.match(text.lower())
        if _DAY_NUMBER.fullmatch(text):
            return str(_DAY_ZERO + np.timedelta64(int(float(text)), "D"))
        found = days_of(re.split("[ T]", text.strip())[0])
        if named and named["month"][:3] in _MONTHS:
            year = int(named["year"]) % 100 + 2000
            with suppress(ValueError):
                found = [datetime.date(year, _MONTHS[named["month"][:3]], int(named["day"]))]
        if not found:
            accepted = Message("import.such_as_cell", example="2026-03-15")
            raise InputError(match.heading, quoted(text), accepted)
        if open_order and assumed is None:
            return read_day(text, match.heading).isoformat()
        return found[-1 if day_first else 0].isoformat()

    return reader


_DAY_NUMBER = Pattern(r"[345]\d{4}(?:\.\d+)?")  # spreadsheet date
_DAY_ZERO = np.datetime64("1899-12-30")
_MONTHS = {
    name: at
    for names in ("jan feb mar apr may jun jul aug sep oct nov dec", "ene feb mar abr may jun jul ago sep oct nov dic")
    for at, name in enumerate(names.split(), 1)
}  # fmt: skip
_DAY_NAMED = Pattern(
    r"(?P<day>\d{1,2})[-/. ](?:de )?(?P<month>[a-z]{3,})\.?[-/., ]+(?:de )?(?P<year>\d{4}|\d{2})(?!\d)"
)
_MONTH_NAMED = Pattern(r"(?P<month>[a-z]{3,})\.? (?P<day>\d{1,2}),? (?P<year>\d{4})(?!\d)")


def catalog_rows(found: Imported, maker: str) -> Iterator[tuple[int, dict[str, str]]]:
    """Yield the line number of each motor, and its cells by heading in `records.catalog`.

    ``maker`` is the manufacturer if the table does not name one. A row is skipped unless it has a
    model, a voltage, a power, a current and a speed. If the frequency, phase or poles are not
    given, 60 Hz, single-phase and the number of poles for the speed are assumed, and the
    assumptions are recorded.
    """
    assumed: Counter = Counter()
    for line in list(found.facts):
        facts = dict(found.facts[line])
        missing = [
            name for name in ("model", "voltage", "power", "current", "speed") if name not in facts
        ]
        if missing:
            found.drop(
                line,
                "",
                facts.get("model", ""),
                _missing(*missing),
            )
            continue
        for name, usual in (("maker", maker), ("frequency", "60 Hz"), ("phase", "1")):
            if name not in facts:
                facts[name] = usual
                assumed[name] += 1
        try:
            yield line, _catalog_cells(facts, assumed)
        except InputError as error:
            found.drop(line, "", facts["model"], error)
    usual = {"maker": maker, "frequency": "60 Hz", "phase": "1", "poles": "120 f / n"}
    found.assumed += [
        Message("import.assumed", field=name, value=usual[name], count=count)
        for name, count in assumed.items()
    ]


_CATALOG_UNITS = {
    "capacitor": ("capacitance", "uF"), "capacitor voltage": ("voltage", "V"),
    "ambient rating": ("air_temperature", "degC"), "bearing bore": ("shaft_diameter", "mm"),
    "shaft diameter": ("shaft_diameter", "in"), "shaft length": ("shaft_length", "in"),
    "body diameter": ("body_diameter", "in"), "body length": ("body_length", "in"), "mass": ("mass", "lb"),
    "warranty from installation": ("duration", "months"), "warranty from manufacture": ("duration", "months"),
}  # fmt: skip


def _catalog_cells(facts: dict[str, str], assumed: Counter) -> dict[str, str]:
    powers = [read(one, "power", "power").mid for one in facts["power"].split("; ")]
    currents = [read(one, "current", "current").mid for one in facts["current"].split("; ")]
    if len(powers) != len(currents):
        given = Message("error.catalog.counts", currents=len(currents), ratings=len(powers))
        raise InputError("current", given, Message("error.catalog.current_each"))
    pairs = sorted(zip(powers, currents))
    speed = read(facts["speed"], "speed", "speed").mid
    frequency = read(facts["frequency"], "frequency", "frequency").high
    if "poles" not in facts:
        poles = poles_at(speed, frequency)
        if poles is None:
            raise InputError("speed", facts["speed"], Message("import.no_poles"))
        facts["poles"] = str(poles)
        assumed["poles"] += 1
    volts = read(facts["voltage"], "voltage", "voltage")
    cells = {
        "maker": facts["maker"], "model": facts["model"], "kind": facts.get("kind", ""),
        "voltage [V]": f"{volts.low:g}" if volts.low == volts.high else f"{volts.low:g}-{volts.high:g}",
        "frequency [Hz]": f"{frequency:g}", "phase": facts["phase"], "poles": facts["poles"],
        "speed [rpm]": f"{speed:g}",
        "ratings [hp]": ";".join(f"{convert(watts, 'power', 'hp'):.12g}" for watts, _ in pairs),
        "currents [A]": ";".join(f"{amps:.12g}" for _, amps in pairs),
        "price": facts.get("price", ""),
    }  # fmt: skip
    for name, (kind, unit) in _CATALOG_UNITS.items():
        value = facts.get(name)
        cells[f"{name} [{unit}]"] = (
            f"{convert(read(value, kind, name).mid, kind, unit):.12g}" if value else ""
        )
    for name in ("insulation class", "bearings", "rotation", "rotation seen from", "frame", "mounting",
                 "drain plugs", "enclosure", "protector"):  # fmt: skip
        cells[name] = facts.get(name, "")
    positions = facts.get("shaft positions", "")
    cells["shaft positions"] = (
        "up; down; horizontal" if "all" in positions.split("; ") else positions
    )
    return cells


def catalog_text(rows: list[dict[str, str]], currency: str = "USD") -> str:
    """Return the text of a catalog file with rows from `catalog_rows`, priced in ``currency``."""
    price = f"price [{currency}]"
    headings = [price if column.name == "price" else column.heading for column in COLUMNS]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(headings)
    for cells in rows:
        writer.writerow([cells["price" if heading == price else heading] for heading in headings])
    return out.getvalue()


def _of_row(error: InputError) -> InputError:
    """Return an error in a catalog row without its line number, which refers to another file."""
    column = error.field.values["field"] if error.field.key == "error.part" else error.field
    return InputError(column, error.given, error.accepted, error.unit)


def imported_catalog(found: Imported, maker: str) -> str:
    """Return the text of a catalog file with the valid motors in a table.

    Raises
    ------
    InputError
        If there are no valid motors.
    """
    good, currency = _good_motors(found, maker)
    return catalog_text([cells for cells, _ in good], currency)


def catalog_in(found: Imported, maker: str) -> Catalog:
    """Return the motors in a table. Raises the same InputError as `imported_catalog`."""
    good, _ = _good_motors(found, maker)
    return Catalog([motor for _, motor in good], found.lost)


def _good_motors(found: Imported, maker: str) -> tuple[list[tuple[dict, CatalogMotor]], str]:
    """Return the valid motors with their cells, and the currency of the prices."""
    currency = next((one.unit for one in found.matches if one.field == "price"), "") or "USD"
    good, first = [], {}
    for line, cells in catalog_rows(found, maker):
        name = cells["maker"], cells["model"]
        try:
            (motor,) = catalog_of(catalog_text([cells], currency))
        except InputError as error:
            found.drop(line, "", cells["model"], _of_row(error))
            continue
        if name in first:
            twice = Message("import.twice", number=first[name])
            found.drop(line, "", cells["model"], twice)
            continue
        first[name] = line
        good.append((cells, motor))
    return _some(found, good), currency


def imported_calls(found: Imported) -> Calls:
    """Return the calls or nameplates in a table, except rows without a date or without data.

    Raises
    ------
    InputError
        If no usable row remains.
    """
    days, places, needs, need, lines = [], [], {}, [], []
    for line in list(found.facts):
        facts = dict(found.facts[line])
        day, place = facts.pop("date", None), facts.pop("place", "")
        if found.table == CALLS and day is None:
            found.drop(line, "", place, _missing("date"))
            continue
        if not set(facts) & set(_OF_NAMEPLATE):
            found.drop(line, "", place, Message("import.nothing_known"))
            continue
        key = tuple(sorted(facts.items()))
        if key not in needs:
            try:
                needs[key] = len(needs), need_of(facts, line)
            except InputError as error:
                found.drop(line, "", place, error)
                continue
        days.append(np.datetime64(day) if day else np.datetime64("NaT"))
        places.append(place)
        need.append(needs[key][0])
        lines.append(line)
    _some(found, need)
    jobs = tuple(job for _, job in needs.values())
    days = np.array(days, dtype="datetime64[D]")
    sheet, used = found.sheet, {one.at for one in found.matches if one.field}
    rows = dict(zip(sheet.lines, sheet.rows, strict=True))
    quantities, wanted = (), quantity_column(sheet.headings, used)
    if found.table == NAMEPLATES and wanted is not None:
        quantities = tuple(_wanted(found, line, wanted, rows[line]) for line in lines)
        used.add(wanted)
    kept = references(sheet.headings, used, [rows[line] for line in lines])
    return Calls(
        days, tuple(places), jobs, np.array(need), found.lost,
        references=kept, unused=unread(sheet.headings, used), quantities=quantities,
    )  # fmt: skip


def _wanted(found: Imported, line: int, at: int, row: list[str]) -> int:
    """Return the quantity in a row, or 1 if it is unreadable, which is recorded as a problem."""
    try:
        return quantity_of(row[at])
    except InputError as error:
        found.problems.append(Problem(line, found.sheet.headings[at], row[at], error, False))
        return 1


def imported_units(found: Imported) -> dict[int, dict[str, str]]:
    """Return the data for each unit, by line number, except for rows without motor data.

    Raises
    ------
    InputError
        If no usable row remains.
    """
    for line, facts in list(found.facts.items()):
        if not set(facts) & set(_OF_NAMEPLATE):
            found.drop(line, "", facts.get("unit", ""), Message("import.nothing_known"))
    _some(found, list(found.facts))
    return found.facts


def _missing(*names: str) -> Message:
    return Message("import.missing", fields=tuple(Message(f"capture.short.{n}") for n in names))


_NO_ROWS = "import.no_rows"


def _some(found: Imported, rows: list) -> list:
    """Return the rows, or raise InputError with the most frequent problem if no rows remain."""
    if not rows:
        kinds = (one for one, _ in found.kinds_of_problem() if one.stops)
        first = next(kinds)
        why = first.reason
        if isinstance(why, InputError):
            why = Message("import.why", field=why.field, given=why.given)
        given = Message(_NO_ROWS, count=len(found.sheet.rows), line=first.line, why=why)
        raise InputError(Message("import.table"), given, Message(f"import.needs.{found.table}"))
    return rows
