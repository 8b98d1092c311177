"""What to do about a text that is no TOML: a remedy of its own for each slip of the pen."""

from __future__ import annotations

import re

_CURLY = re.compile("[“”„‟‘’‚″′]")
_KEY = re.compile(r"""\s*(?P<key>[^=\[\]{}#"']+?)\s*=\s*(?P<value>.*)""")
_DECIMAL_COMMA = re.compile(r"=\s*[-+]?\d+,\d")
_WORD = re.compile(r"[^\W\d_][\w .-]*")
_SIZE = re.compile(r"[-+]?\.?\d[\d.]*(?P<more>\s*[\s/'\"½¼¾⅛⅜⅝⅞a-zA-Z-].*)?")
_ENTRY = re.compile(r"""\s*(?:\{|\[|"[^"]*"\s*(?!\s*=)|[-+.\d][-+.\w]*\s*[\],\d])""")  # of a list, after another
_PAIR = re.compile(r"\s*[\w-]+\s*=\s*[^=\s].*\}")  # of an inline table, after another
_OPEN_QUOTE = 'close the quote: words stand between two of them, "…"'
_ONE_A_LINE = "one entry to a line; put what follows on its own, or a comma between entries of { … } and [ … ]"
_TRUTH = ("true", "false")


def written_key(line: str) -> str:
    """The key that a line begins with, or "".

    Parameters
    ----------
    line : str
        Of a file that may be no TOML.
    """
    found = _KEY.match(line)
    return found["key"] if found else ""


def remedy(said: str, line: str, at: int | None) -> str:
    """What to do about a fault.

    Parameters
    ----------
    said : str
        By the reader of TOML, in lower case.
    line : str
        The line where it stopped.
    at : int or None
        How many characters of it were read; None when it stopped at the end of the text.
    """
    key, rest = written_key(line), line[at:] if at is not None else ""
    if any(word in said for word in ("overwrite", "twice", "duplicate", "declare", "mutate")):
        return f"{f'the key {key}' if key else 'this key or table'} is given twice; keep one"
    if "\\n" in said and _quote_open(line):
        return _OPEN_QUOTE
    if "character" in said and "key part" not in said:
        return "take out the sign that cannot be printed; type the line anew"
    if _CURLY.search(_unquoted(line)):
        return 'write straight quotes, "…", not curly ones'
    if _DECIMAL_COMMA.search(line):
        return "write a point for decimals, not a comma"
    if line.lstrip().startswith("[") and ("']" in said or "]'" in said):
        return "close the heading with ], such as [valve]; a name with spaces stands in quotes"
    if _quote_open(line):
        return _OPEN_QUOTE
    if "unclosed" in said or "key part" in said:
        return _between(said, rest)
    if "'=' after a key" in said or "invalid statement" in said:
        return _no_key(line)
    return _no_value(_value_at(line, at), rest)


def _unquoted(line: str) -> str:
    """What stands outside straight quotes, before a remark."""
    return re.sub(r'"[^"]*"|\'[^\']*\'', "", line).split("#")[0]


def _quote_open(line: str) -> bool:
    """Whether a quote is opened and not closed (feet and inches behind a figure are no quotes)."""
    left = _unquoted(line)
    return bool(re.search(r"""[=\[{,]\s*["']""", left))


def _between(said: str, rest: str) -> str:
    """Entries of a list or an inline table that do not follow on one another."""
    bracket = "]" if "array" in said else "}"
    if "key part" in said and rest.lstrip().startswith("}"):
        return "take out the comma before }"
    follows = _ENTRY if bracket == "]" else _PAIR
    if follows.match(rest):
        return "a comma is missing here: the entries of { … } and [ … ] are parted by commas"
    return f"the bracket is not closed: put {bracket} where the entries end"


def _no_key(line: str) -> str:
    if re.match(r"\s*=", line):
        return "say which key it is: key = figure"
    words = _KEY.match(line)
    if words and re.search(r"\s", words["key"]):
        return f'a name with spaces stands in quotes: "{words["key"]}" = …'
    if words and re.search(r"[^\w.-]", words["key"], re.ASCII):
        return f'a name with such signs stands in quotes: "{words["key"]}" = …'
    return "write key = figure, or begin the line with # if it is a remark"


def _value_at(line: str, at: int | None) -> str:
    """What was written as the value that could not be read, up to a remark or the end of its entry."""
    begun = max((line.rfind(sign, 0, at) for sign in "=[{,"), default=-1) if at is not None else line.find("=")
    return re.split(r"[#,\]}]", line[begun + 1 :], maxsplit=1)[0].strip()


def _no_value(value: str, rest: str) -> str:
    if "\\" in value:
        return r"write \\ for \, or put the words in single quotes"
    if not value:
        return "the figure is missing: give it, or take the line out"
    if value.lower() in _TRUTH:
        return "write true or false in small letters"
    if _WORD.fullmatch(value.strip("\"'")) and "=" not in value:
        return 'words stand in quotes: "{}"'.format(value.strip("\"'"))
    if re.match(r"""\s*[\w"'.-]+\s*=""", rest):
        return _ONE_A_LINE
    if re.fullmatch(r"[-+]?(?:\.\d+|\d+\.)", value):
        return "write figures on both sides of the point, such as 0.5"
    size = _SIZE.fullmatch(value)
    if size and size["more"]:
        return 'a length with a unit or fraction stands in quotes: "1 5/16 in"'
    if re.match(r"""\s*["'\w]""", rest) and value.startswith(('"', "'")):
        return _ONE_A_LINE
    return "write a plain number, such as 12.5, or words in quotes"
