"""Equations that can be evaluated and written as LaTeX.

An expression is a string in Python syntax, such as ``V * (A_a + B) / D``. The equation, the
equation with numbers and units instead of symbols, and the result are all generated from this
string, so they are always consistent. The LaTeX output uses only commands that matplotlib's
mathtext supports.

`fewest_digits` returns the smallest number of digits for which a hand calculation with the printed
numbers gives the printed result.
"""

import ast
import math
import re
from functools import lru_cache

RESULT_DIGITS = 4
MOST_DIGITS = 12
EXACT_DIGITS = 7  # a constant or an input with up to this many digits is printed exactly
_GREEK = {
    "beta": r"\beta", "Delta": r"\Delta\vartheta",
    "epsilon": r"\varepsilon", "eta": r"\eta", "theta": r"\vartheta", "kappa": r"\kappa",
    "Lambda": r"\Lambda", "lambda": r"\lambda", "mu": r"\mu", "nu": r"\nu", "rho": r"\rho",
    "sigma": r"\sigma", "tau": r"\tau", "omega": r"\omega", "pi": r"\pi", "j": r"\mathrm{j}",
}  # fmt: skip
_LETTERS = {
    "eta": "\u03b7", "theta": "\u03b8", "Delta": "\u0394\u03b8", "epsilon": "\u03b5", "kappa": "\u03ba",
    "Lambda": "\u039b", "lambda": "\u03bb", "mu": "\u03bc", "nu": "\u03bd", "rho": "\u03c1",
    "sigma": "\u03c3", "tau": "\u03c4", "omega": "\u03c9", "beta": "\u03b2",
}  # fmt: skip
_FUNCTIONS = {
    "exp": r"\exp", "ln": r"\ln", "log10": r"\log_{10}", "max": r"\max", "min": r"\min",
    "cos": r"\cos", "sin": r"\sin", "re": r"\mathrm{Re}",
}  # fmt: skip
_MEANING = {
    "pi": math.pi, "j": 1j, "abs": abs, "exp": math.exp, "ln": math.log, "log10": math.log10,
    "sqrt": math.sqrt, "cbrt": math.cbrt, "max": max, "min": min, "cos": math.cos,
    "sin": math.sin, "re": lambda value: complex(value).real,
}  # fmt: skip
_UNIT_POWER = re.compile(r"(?<=[A-Za-z])([2-6])")
_SUM, _PRODUCT, _POWER, _ATOM = range(4)  # operator precedence


def symbols(expression: str) -> list[str]:
    """Return the symbols in an ``expression`` in order of first use.

    >>> symbols("V * (A + B) / D + V")
    ['V', 'A', 'B', 'D']
    """
    names = [one for one in ast.walk(_parsed(expression)) if isinstance(one, ast.Name)]
    names.sort(key=lambda one: (one.lineno, one.col_offset))
    return [one for one in dict.fromkeys(name.id for name in names) if one not in _MEANING]


def evaluate(expression: str, values: dict) -> complex | float:
    """Evaluate an ``expression`` with the numbers in ``values``.

    >>> evaluate("k * omega**2", {"k": 2.0, "omega": 3.0})
    18.0
    """
    found = eval(compile(_parsed(expression), "equation", "eval"), _MEANING | values)
    return found.real if isinstance(found, complex) and found.imag == 0 else found


def symbol_latex(name: str) -> str:
    """Return a symbol as LaTeX. The text after the first underscore is its subscript.

    >>> symbol_latex("theta_air"), symbol_latex("R_1")
    ('\\\\vartheta_{\\\\mathrm{air}}', 'R_{1}')
    """
    letter, _, below = name.partition("_")
    shown = _GREEK.get(letter, letter if len(letter) == 1 else rf"\mathrm{{{letter}}}")
    if not below:
        return shown
    below = below.replace("_", ",")
    inner = _GREEK.get(below, below if below.isdigit() else rf"\mathrm{{{below}}}")
    return rf"{shown}_{{{inner}}}"


def symbol_parts(name: str) -> tuple[str, str]:
    """Split a symbol into its letter and its subscript, for text with subscripts.

    >>> symbol_parts("theta_air")
    ('\u03b8', 'air')
    """
    letter, _, below = name.partition("_")
    return _LETTERS.get(letter, letter), _LETTERS.get(below, below.replace("_", ","))


def latex(expression: str, shown=None) -> str:
    """Return an ``expression`` as LaTeX. ``shown`` maps each symbol to its LaTeX.

    >>> latex("k * omega**2 / 2")
    '\\\\dfrac{k\\\\,\\\\omega^{2}}{2}'
    """
    times = r"\," if shown is None else r" \cdot "
    return _Latex(shown or {}, times).written(_parsed(expression).body)[0]


def number_latex(value, digits: int, unit: str = "") -> str:
    """Return a number as LaTeX with at most ``digits`` significant digits, and its unit.

    >>> number_latex(7.5e-6, 4, "F")
    '7.5\\\\cdot 10^{-6}\\\\,\\\\mathrm{F}'
    """
    if isinstance(value, complex):
        real, imaginary = _parts(value, digits)
        sign = "-" if imaginary.startswith("-") else "+"
        text = rf"({_scientific(real)} {sign} \mathrm{{j}}\,{_scientific(imaginary.lstrip('-'))})"
    else:
        text = _scientific(printed(value, digits))
    return text + unit_latex(unit)


def unit_latex(unit: str) -> str:
    """Return a unit as LaTeX, with a leading space.

    >>> unit_latex("W/m2K")
    '\\\\,\\\\mathrm{W/m^{2}K}'
    """
    if not unit:
        return ""
    if unit == "ohm":
        return r"\,\Omega"
    if unit == "ohm2":
        return r"\,\Omega^{2}"
    if unit == "degC":
        return r"\,^{\circ}\mathrm{C}"
    shown = _UNIT_POWER.sub(r"^{\1}", unit).replace(" ", r"\,")
    return rf"\,\mathrm{{{shown}}}"


def printed(value: float, digits: int) -> str:
    """Return a real number as printed, with at most ``digits`` significant digits.

    A number with no more than EXACT_DIGITS significant digits is printed exactly. Otherwise,
    trailing zeros indicate the number of significant digits.

    >>> printed(236.0, 4), printed(1.50004001, 4), printed(7.5e-6, 4), printed(12345678.9, 4)
    ('236', '1.500', '7.5e-6', '1.235e7')
    """
    if value == 0:
        return "0"
    if math.isclose(float(f"{value:.{EXACT_DIGITS - 1}e}"), value, rel_tol=1e-12):
        digits = max(digits, EXACT_DIGITS)
    power = math.floor(math.log10(abs(float(f"{value:.{digits - 1}e}"))))
    scale = power if power < -3 or power > 6 else 0
    decimals = max(digits - 1 - power + scale, 0)
    rounded = round(value, digits - 1 - power)
    text = f"{rounded / 10.0**scale:.{decimals}f}"
    if "." in text and math.isclose(rounded, value, rel_tol=1e-12):
        text = text.rstrip("0").rstrip(".")
    return f"{text}e{scale}" if scale else text


def printed_number(value, digits: int):
    """Return the rounded number that `number_latex` displays."""
    if isinstance(value, complex):
        return complex(*map(float, _parts(value, digits)))
    return float(printed(value, digits))


def fewest_digits(expression: str, values: dict, result) -> int:
    """Return the number of digits of ``values`` needed to reproduce the printed ``result``.

    ``result`` is the value of the ``expression`` and is printed with RESULT_DIGITS significant
    digits.
    """
    wanted = printed_number(result, RESULT_DIGITS)
    for digits in range(RESULT_DIGITS, MOST_DIGITS):
        seen = {name: printed_number(value, digits) for name, value in values.items()}
        if printed_number(_like(evaluate(expression, seen), result), RESULT_DIGITS) == wanted:
            return digits
    return MOST_DIGITS


def _like(found, result):
    """Return ``found`` as a complex number if ``result`` is complex."""
    return complex(found) if isinstance(result, complex) else found


def _parts(value: complex, digits: int) -> tuple[str, str]:
    """Return the real and imaginary parts as text, with the same number of decimals."""
    largest = max(abs(value.real), abs(value.imag))
    power = math.floor(math.log10(largest)) if largest else 0
    decimals = max(digits - 1 - power, 0)

    def part(one: float) -> str:
        rounded = round(one, digits - 1 - power)
        return f"{0.0 if rounded == 0 else rounded:.{decimals}f}"

    return part(value.real), part(value.imag)


def _scientific(text: str) -> str:
    number, _, power = text.partition("e")
    return rf"{number}\cdot 10^{{{power}}}" if power else number


@lru_cache(maxsize=512)
def _parsed(expression: str) -> ast.Expression:
    return ast.parse(expression, mode="eval")


def _negative(part) -> bool:
    """Return True for a product with a leading minus sign, which needs no parentheses."""
    product = isinstance(part, ast.BinOp) and isinstance(part.op, ast.Mult)
    return isinstance(part, ast.UnaryOp) or (product and _negative(part.left))


class _Latex:
    """Syntax tree visitor that returns each part as LaTeX with its operator precedence."""

    def __init__(self, shown: dict[str, str], times: str):
        self.shown, self.times = shown, times

    def written(self, part) -> tuple[str, int]:
        match part:
            case ast.Name(id=name):
                return self._symbol(name)
            case ast.Constant(value=value):
                return f"{value:g}" if value < 1e5 else f"{value:,.0f}".replace(",", r"\,"), _ATOM
            case ast.UnaryOp(operand=operand):
                return f"-{self.inside(operand, _PRODUCT)}", _SUM
            case ast.Call(func=ast.Name(id=name), args=args):
                return self._call(name, args)
            case ast.BinOp(op=ast.Add(), left=left, right=right):
                return f"{self.inside(left, _SUM)} + {self._added(right, _SUM)}", _SUM
            case ast.BinOp(op=ast.Sub(), left=left, right=right):
                return f"{self.inside(left, _SUM)} - {self._added(right, _PRODUCT)}", _SUM
            case ast.BinOp(op=ast.Mult(), left=left, right=right):
                text = self._product(left, right)
                return text, _SUM if text.startswith("-") else _PRODUCT
            case ast.BinOp(op=ast.Div(), left=left, right=right):
                over, under = self.written(left)[0], self.written(right)[0]
                return rf"\dfrac{{{over}}}{{{under}}}", _PRODUCT
            case ast.BinOp(op=ast.Pow(), left=left, right=right):
                return rf"{self._base(left)}^{{{self.written(right)[0]}}}", _POWER
        raise NotImplementedError(ast.dump(part))

    def inside(self, part, least: int) -> str:
        """Return a part, in parentheses if its precedence is lower than ``least``."""
        text, binds = self.written(part)
        return text if binds >= least else rf"\left({text}\right)"

    def _symbol(self, name: str) -> tuple[str, int]:
        if name not in self.shown:
            return symbol_latex(name), _ATOM
        text = self.shown[name]
        return text, (_SUM if text.startswith("-") else _ATOM)

    def _added(self, part, least: int) -> str:
        text, binds = self.written(part)
        return text if binds >= least and not text.startswith("-") else rf"\left({text}\right)"

    def _base(self, part) -> str:
        """Return the base of a power. A number with a unit is put in parentheses."""
        text, binds = self.written(part)
        plain = binds == _ATOM and not (self.shown and isinstance(part, ast.Name))
        magnitude = isinstance(part, ast.Call) and part.func.id == "abs"
        return text if plain or magnitude else rf"\left({text}\right)"

    def _product(self, left, right) -> str:
        first = self.written(left)[0] if _negative(left) else self.inside(left, _PRODUCT)
        second = self._added(right, _PRODUCT)
        plain = all(isinstance(one, ast.Constant) for one in (left, right))
        times = r" \cdot " if plain or second[0].isdigit() else self.times
        return f"{first}{times}{second}"

    def _call(self, name: str, args) -> tuple[str, int]:
        inner = r",\; ".join(self.written(one)[0] for one in args)
        if name == "abs":
            return rf"\left|{inner}\right|", _ATOM
        if name == "sqrt":
            return rf"\sqrt{{{inner}}}", _ATOM
        if name == "cbrt":
            return rf"\sqrt[3]{{{inner}}}", _ATOM
        return rf"{_FUNCTIONS[name]}\left({inner}\right)", _POWER
