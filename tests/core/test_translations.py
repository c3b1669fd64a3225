"""Texts against each other: a text says the same in both languages, and what its key says.

A reader of one language would not notice that two sentences were exchanged, or that "never" became
"always" in one of them. The glossary has the words of the trade with what they become in Spanish.
"""

import re
from collections import Counter, defaultdict

import numpy as np
import pytest
from scipy.spatial.distance import cdist

from airover.core.files import LANGUAGES
from airover.core.texts import PLACE, Texts

ENGLISH, SPANISH = (Texts(one).texts for one in ("en", "es"))
NUMBER = re.compile(r"\d+(?:[.,]\d+)*")
END = r"(\d+(?:[.,/]\d+)*|\{[a-z_]+\})"
RANGE = re.compile(rf"(?<![\d{{}}-]){END}(?:-| to | a ){END}(?![\w-])")
UNITS = "%|A|V|W|uF|Hz|USD|hp|K|h|degC|degF|mm|kWh"
AMOUNT = re.compile(rf"(\d+(?:[.,/]\d+)*|{PLACE.pattern}|\[) ?({UNITS})(?![A-Za-z0-9])")
OWN_UNIT = {  # the unit is a word in one of the languages
    "import.currency", "expected.table.watts", "expected.table.capacitance",
    "order.capacitor.required",
}  # fmt: skip
REORDERED = {  # the places of a sentence that Spanish builds in another order
    "left_out.both", "failure.said.over", "failure.said.below", "failure.said.over_range",
    "failure.said.below_range", "heat.margin_below", "heat.margin_above", "date", "reason.only",
    "reason.near", "reason.less", "reason.more", "stock.next_line",
}  # fmt: skip
# English words, and Spanish stems that a translation of them has.
GLOSSARY = {
    r"capacitors?|capacitance": r"capacitor|capacitancia",
    r"bearings?": r"balero|buje|rodamiento",
    r"sleeve": r"buje",
    r"ball": r"bola",
    r"windings?": r"bobinado|devanado|embobinado",
    r"shaft": r"flecha|eje",
    r"voltages?|volts?": r"volt|tensión",
    r"amps?|amperes?|currents?": r"amp|corriente|\bA\b",
    r"speeds?|rpm": r"velocidad|rpm",
    r"air|airflow": r"\b(?:entreh?)?(?:aire|hierro)|caudal|flujo|intemperie|entrehierro",
    r"temperatures?": r"temperatura|grados|cal[oi]|frío|calent",
    r"coils?": r"serpent",
    r"catalogs?": r"catálogo",
    r"nameplates?": r"placa",
    r"prices?": r"precio|cotiz",
    r"costs?": r"cost|cuesta|precio",
    r"warranty": r"garant",
    r"insulation": r"aisla",
    r"rotation": r"giro|rotaci|gira",
    r"elevation": r"altitud|altura|elevaci",
    r"pressures?": r"presi",
    r"efficiency": r"eficiencia",
    r"fans?": r"ventilador|aspa",
    r"motors?": r"motor",
    r"unknown|not known": r"no se (?:conoce|sabe)|desconocid|sin dato|no conocid",
    r"not|no|never|don't|won't|cannot|can't|without|isn't|doesn't|none|neither|nonventilated": r"\bno\b|nunca|sin\b|ning[uú]n|nadie|ni\b|tampoco|nada|jam[aá]s|excepto|menos",
    r"higher|above|over|exceeds?|hotter|larger|more|longer|faster|greater|increases?|rises?|too high": r"m[aá]s|mayor|encima|sobre|supera|excede|aument|sub|super|arriba|alt[oa]|adicional|otr|pas|demasiad|crec|exces|elev",
    r"lower|below|under|less|smaller|cooler|shorter|slower|fewer|decreases?|falls|drops|too low": r"menos|menor|debajo|baj|inferior|reduc|disminu|abajo|cae|men[oa]s|más (?:chic|pequeñ|fr|fresc|cort|lent|barat)|demasiado",
    r"at least|minimum": r"al menos|m[ií]nim|por lo menos|mínima|o más|como mínimo|menos",
    r"at most|maximum|not to exceed|no more than": r"m[aá]xim|como mucho|a lo sumo|hasta|no más|no exced|tope",
    r"before": r"antes|anterior|previ|hasta",
    r"after": r"después|tras|luego|una vez|al\b|cuando|desde|posterior|a partir|siguiente|ya",
    r"first": r"primer|antes",
    r"last": r"últim|dura|final|anterior|pasad",
    r"old": r"anterior|viej|original|antigu|edad|años|fall",
    r"new": r"nuev",
    r"hot": r"cal[io]|cálid",
    r"cold": r"fr[ií]|baj",
    r"wet|water|rain|damp": r"agua|lluvia|moj|húmed|humed",
    r"lead end": r"lado de los cables|extremo de|cables",
    r"\bup\b": r"arriba|sub|más|completa|alcan|acele|hasta|arran|gir|máx",
    r"down": r"abajo|baj|apag|det|hacia|parad",
    r"dirty|dirt": r"suci|polvo|mugre",
    r"guard": r"rejilla|guarda|protec",
    r"years?": r"año|anual|antig|edad",
    r"hours?": r"hora|\bh\b",
    r"overloads?": r"sobrecarga|térmic|protector|rebas|exced",
    r"breakdown torque": r"par máximo",
    r"torque": r"\bpar\b|torque",
    r"locked[- ]rotor": r"bloquead|trabad|rotor",
    r"supply": r"suministro|alimentaci|red|línea|volt",
    r"power": r"potencia|energ|corriente|watts|aliment|eléctric|carga",
    r"proposal": r"propuesta|cotiza",
    r"compressor": r"compresor",
    r"class": r"clase|grupo",
    r"unknown|not known|missing": r"no se|desconoc|sin |falta|pendiente|no conoc|ausente|no aparec|incomplet",
    r"heat|heating|heats": r"cal[oi]|calent|refriger",
    r"rotors?": r"rotor",
    r"shell": r"carcasa",
    r"core": r"núcleo|hierro",
    r"rated|rating": r"nominal|potencia|placa|capacidad",
    r"main": r"principal",
    r"auxiliary": r"auxiliar",
    r"start|starts|starting|started": r"arran|empe|comien|inici|marcha|abr",
    r"energy": r"energía|consum",
    r"belly band": r"abrazadera",
    r"mount|mounting|mounted": r"mont|fij|sujet|instal",
    r"readings?": r"lectur|medi|mid|leíd",
    r"measured?|measurements?": r"med[ií]|mid|lectur",
    r"ranges?": r"rango|entre|de .* a|abarca|intervalo|límites",
    r"files?": r"archivo",
    r"jobs?": r"trabajo",
    r"customers?": r"cliente",
    r"work order": r"orden",
    r"trucks?": r"camioneta|vehículo",
    r"calls?": r"llamad|visit|servicio|salida",
    r"dates?|days?": r"fecha|día|diari",
    r"left": r"izquierd|qued|dej|rest|sobr|falt|salió",
    r"right": r"derech|correct|aciert|bien|acert",
    r"median": r"median|medi[ao]",
    r"check|checks": r"revis|verif|compr|punto|rengl|criterio|vea",
    r"outdoor": r"exterior|afuera|fuera|calle",
    r"failure|failures|failed|fails|fail": r"fall|cumple|falló|reprob|dañ",
    r"water": r"agua",
    r"dual": r"doble|dual",
    r"samples?": r"muestra",
    r"install|installed|installation|installs": r"instal|coloc|pon|mont|puest",
    r"months?": r"mes",
    r"labor": r"mano de obra|trabajo",
    r"tax": r"impuesto|IVA",
    r"oil": r"aceite",
    r"grease": r"grasa",
    r"life|lives": r"vida|dura|años",
    r"weather": r"clima|tiempo|meteo|calor",
    r"units?": r"unidad|equipo",
    r"horsepower|hp": r"potencia|hp|caball",
    r"answers?": r"respuesta|resultado|respond|contest",
    r"questions?": r"pregunta|duda|dato",
    r"class|classes": r"clase|grupo|aula",
    r"rows?|lines?": r"rengl|fila|línea|fase|alimentaci",
    r"columns?": r"columna",
    r"currency": r"moneda",
    r"manufacturers?": r"fabricante|marca",
    r"leads?": r"cable|punta|terminal|hilo|plazo",
    r"drain": r"dren|desag",
    r"plug|plugs": r"tap[oó]n|conector|clavija",
    r"guess": r"estim|predic|calcul|aproxim|conjetur|suposi|prono",
    r"slip": r"deslizamiento",
    r"reactance": r"reactancia",
    r"resistance": r"resistencia",
    r"watts": r"watts|potencia|\bW\b",
    r"density": r"densidad",
    r"balance|unbalance": r"balance|desbalance|equilibr",
    r"poles?": r"polo",
    r"frequency": r"frecuencia",
    r"stock": r"existencia|inventario|almac|surtido|mostrador|carga|stock|bodega",
    r"information|data": r"informaci|dato|valores",
    r"three": r"tres", r"four": r"cuatro", r"five": r"cinco", r"six": r"seis", r"seven": r"siete",
    r"eight": r"ocho", r"nine": r"nueve", r"ten": r"diez", r"twelve": r"doce",
    r"assumed|assumes": r"sup[uo]|asum|calculad|estim|considera|toma",
    r"budget": r"presupuesto",
}  # fmt: skip


STANDARD = re.compile(r"\b(?:IEC|ISO|UL) [\d-]+")
BOTH_SIDES = {"reason.more", "reason.less"}  # each names the dearer and the cheaper option


def has(words: str, text: str) -> bool:
    return re.search(words, text, re.IGNORECASE) is not None


WORDS = {
    "en": {words: re.compile(rf"\b(?:{words})\b", re.IGNORECASE) for words in GLOSSARY},
    "es": {words: re.compile(stems, re.IGNORECASE) for words, stems in GLOSSARY.items()},
}


def marks(text: str, language: str) -> Counter:
    """What a text has in any language: places, numbers, signs and the words of the glossary."""
    plain = PLACE.sub("#", text)
    found = Counter(PLACE.findall(text)) + Counter(NUMBER.findall(plain))
    found += Counter(words for words, pattern in WORDS[language].items() if pattern.search(plain))
    found |= {sign: plain.count(sign) for sign in "?:(["}
    found["."] = len(re.findall(r"\.(?!\d)", plain))
    return found


def test_no_two_texts_of_a_table_were_exchanged_in_one_language():
    """Each text is as near to its own translation as to that of any other text in its table."""
    tables = defaultdict(list)
    for key in ENGLISH:
        tables[key.rpartition(".")[0]].append(key)
    del tables["lesson_words.number"]  # its texts are the words of their keys, tested below
    exchanged = []
    for keys in tables.values():
        english = [marks(ENGLISH[key], "en") for key in keys]
        spanish = [marks(SPANISH[key], "es") for key in keys]
        names = list(set().union(*english, *spanish))
        rows = [[[one[name] for name in names] for one in each] for each in (english, spanish)]
        apart = cdist(*rows, metric="cityblock")  # marks that only one of the two texts has
        own = np.diag(apart)
        found = np.argwhere(np.triu(apart + apart.T < own[:, None] + own))
        exchanged += [(keys[one], keys[other]) for one, other in found]
    assert not exchanged


TENS = {
    "en": "twenty thirty forty fifty sixty seventy eighty ninety",
    "es": "veinte treinta cuarenta cincuenta sesenta setenta ochenta noventa",
}
UNITS_SAID = {
    "en": "one two three four five six seven eight nine ten eleven twelve",
    "es": "uno dos tres cuatro cinco seis siete ocho nueve diez once doce",
}


@pytest.mark.parametrize("language", LANGUAGES)
def test_number_words_have_their_number_as_key(language):
    texts = Texts(language).texts
    said = dict(enumerate(UNITS_SAID[language].split(), 1))
    said |= {10 * at: word for at, word in enumerate(TENS[language].split(), 2)}
    for number, word in said.items():
        assert word in texts[f"lesson_words.number.{number}"].split(", "), number


@pytest.mark.parametrize("language", [one for one in LANGUAGES if one != "en"])
def test_numbers_and_places_stand_in_the_same_order(language):
    """A number, or a value that is filled in, is beside the same words in every language."""
    parts = re.compile(rf"{PLACE.pattern}|{NUMBER.pattern}")
    texts = Texts(language).texts
    for key, text in ENGLISH.items():
        meant, said = ([one[0] for one in parts.finditer(text)] for text in (text, texts[key]))
        if key in REORDERED:
            meant, said = sorted(meant), sorted(said)
        assert said == meant, key


def test_a_source_names_its_author_in_both_languages():
    """A source whose key is an author, such as "booser", names that author."""
    authors = []
    for key, text in ENGLISH.items():
        author = key.rpartition(".")[2].title()
        if ".source." in f".{key}" and author in text + SPANISH[key]:
            assert author in text and author in SPANISH[key], key
            authors.append(author)
    assert {"Incropera", "Churchill", "Zukauskas", "Booser", "Raimondi"} <= set(authors)


def test_amounts_have_the_same_unit_in_both_languages():
    count = 0
    for key, text in ENGLISH.items():
        amounts = sorted(AMOUNT.findall(text))
        assert key in OWN_UNIT or sorted(AMOUNT.findall(SPANISH[key])) == amounts, key
        count += len(amounts)
    assert count > 100


@pytest.mark.parametrize("unit", ["Hz", "cfm", "uF", "degF", "degC", "oz-ft", "N m"])
def test_a_unit_without_a_number_is_in_both_languages(unit):
    pattern = rf"(?<![A-Za-z]){unit}(?![A-Za-z])"
    for key, text in ENGLISH.items():
        assert bool(re.search(pattern, text)) == bool(re.search(pattern, SPANISH[key])), key


@pytest.mark.parametrize("language", LANGUAGES)
def test_ranges_begin_with_their_lower_end(language):
    count = 0
    for key, text in Texts(language).texts.items():
        for low, high in RANGE.findall(STANDARD.sub("", text)):
            if "{" in low + high:
                assert not has("high|most|last|longest", low), (key, text)
                continue
            count += 1
            assert _number(low) < _number(high), (key, text)
    assert count > 15


def _number(text: str) -> float:
    first, _, second = text.replace(",", "").partition("/")
    return float(first) / float(second or 1)


def test_ranges_have_the_same_ends_in_both_languages():
    for key, text in ENGLISH.items():
        numbers = [sorted(one for one in RANGE.findall(found) if "{" not in "".join(one))
                   for found in (text, SPANISH[key])]  # fmt: skip
        assert numbers[0] == numbers[1], key


# A part of a key, the same key with the opposite, and what each says in English.
OPPOSITES = [
    ("up", r"\bup\b|upward|overhead", "down", r"\bdown|below"),
    ("highest", "highest", "lowest", "lowest"),
    ("hot", r"\bhot", "cold", r"\bcold"),
    ("first", "first", "last", r"\blast"),
    ("new", r"\bnew", "old", r"\bold"),
    ("open", r"\bopen", "closed", r"\bclose"),
    ("worn", r"\bworn", "free", r"\bfree"),
    ("fan", r"\bfan", "motor", r"\bmotor"),
    ("shaft", r"\bshaft", "lead", r"\blead"),
    ("above", r"\babove|\bover|high|exceed", "below", r"\bbelow|\bunder|\blow|less"),
    ("higher", r"above|higher|more", "lower", r"below|lower|less"),
    ("more", r"more|higher|too low", "less", r"less|lower|too high|saves"),
    ("low", r"\blow", "high", r"\bhigh"),
    ("latest", "last", "soonest", "first"),
]


def test_keys_of_opposites_have_opposite_texts():
    """Where two keys differ by "up" and "down", the texts do too, each on its own side."""
    count = 0
    for one, said, other, said_other in OPPOSITES:
        part = re.compile(rf"(?<![a-z]){one}(?![a-z])")
        for key, text in ENGLISH.items():
            above, _, last = key.rpartition(".")
            opposite = f"{above}.{part.sub(other, last)}"
            if opposite == key or opposite not in ENGLISH:
                continue
            right = has(said, text) + has(said_other, ENGLISH[opposite])
            wrong = has(said_other, text) + has(said, ENGLISH[opposite])
            count += 1
            assert right > wrong or key in BOTH_SIDES, key
    assert count > 40


SAFETY = ("safety", "order", "caution", "roof", "verify.state", "verify.look", "failure.correct")
FORBIDS = r"\b(?:never|don't|do not|cannot|must not|no one|without)\b"
PROHIBE = r"\b(?:nunca|no|ni|sin|nadie|ningun[oa]?|jamás|excepto)\b"


def test_a_prohibition_is_one_in_both_languages():
    """Each "never" and "don't" of a caution or a step is there in Spanish, and no other."""
    count = 0
    for key, text in ENGLISH.items():
        if key.startswith(SAFETY):
            never = len(re.findall(r"\bnever\b", text, re.IGNORECASE))
            nunca = len(re.findall(r"\b(?:nunca|jamás)\b", SPANISH[key], re.IGNORECASE))
            assert never == nunca, key
            assert has(FORBIDS, text) <= has(PROHIBE, SPANISH[key]), key
            assert not has(r"\balways\b", text) or has(r"\bsiempre\b", SPANISH[key]), key
            count += has(FORBIDS, text)
    assert count > 20
