"""Texts that are no TOML, or whose heads, tables, keys or figures are not in any form that is read."""

from __future__ import annotations

from tests.bad_engines.changed import METRE, changed, replaced, without
from tests.bad_engines.wrong import Wrong, length

HEAD = [
    Wrong("only comments", "# a\n# b\n", None, "", ("[engine]", "linkmotion begin")),
    Wrong("blank", " \n\t\n", None, "", ("empty", "linkmotion begin")),
    Wrong("no engine table", without("engine"), None, "", ("[engine]", "linkmotion begin")),
    Wrong("engine in double brackets", replaced("[engine]", "[[engine]]"), None, "", ("[engine]",)),
    Wrong(
        "gear misspelt",
        changed("engine", "gear", '"walshaerts"'),
        "walshaerts",
        "engine.gear",
        ("did you mean 'walschaerts'",),
    ),
    Wrong(
        "gear unknown", changed("engine", "gear", '"steam turbine"'), "steam turbine", "engine.gear", ("walschaerts",)
    ),
    Wrong("gear a number", changed("engine", "gear", "3"), "gear = 3", "engine.gear", ("words in quotes",)),
    Wrong("unit unknown", changed("engine", "unit", '"cm"'), 'unit = "cm"', "engine.unit", ("mm, in, ft, thou",)),
    Wrong("unit in full", changed("engine", "unit", '"inches"'), 'unit = "inches"', "engine.unit", ("in, ",)),
    Wrong("name a number", changed("engine", "name", "17"), "name = 17", "engine.name", ("17", "quotes")),
    Wrong("note a list", changed("engine", "note", "[1]"), "note = [1]", "engine.note", ("quotes",)),
    Wrong("name missing", changed("engine", "name", None), "[engine]", "engine.name", ("missing", "name =")),
    Wrong("unit missing", changed("engine", "unit", None), "[engine]", "engine.unit", ("missing", "mm, in, ft, thou")),
    Wrong("unknown key", changed("engine", "gera", '"x"'), "gera", "engine.gera", ("did you mean 'gear'",)),
]


def slip(what: str, old: str, new: str, *words: str) -> Wrong:
    """A line of the example as it may be mistyped; told where it stands, with a remedy of its own."""
    return Wrong(what, replaced(old, new), new.split("\n")[0], "", words)


KEYS = [
    Wrong("key of a bell", f'"\\u0007" = 3\n{METRE}', '"\\u0007" = 3', "\ufffd", ("unknown",)),
    Wrong("key that steers", changed("valve", "\\u001b[31mred", "3"), "\\u001b", "\ufffd[31mred", ("unknown",)),
    Wrong("key of 3,000 letters", changed("valve", "x" * 3000, "3"), "xxx = 3", "valve.xxxxxxxx", ("xxx…: unknown",)),
    Wrong(
        "state that steers",
        f'{METRE}\n[state."\\u202e"]\n',
        '\\u202e"]',
        "\ufffd",
        ("cannot be printed", "plain words"),
    ),
]

BLANKS = [
    Wrong(
        "several blanks",
        changed("union_link", "length", '"?"', changed("cylinder", "stroke", '"?"')),
        'stroke = "?"',
        "cylinder.stroke",
        ("and 1 more: union_link.length", "fill in: "),
    ),
    Wrong(
        "blanks in lists and states",
        changed("radius_rod", "length", '"?"') + '\n[state.x.left.wear]\nslot = [{ at = "?", front = "?" }]\n',
        'length = "?"',
        "radius_rod.length",
        ("and 2 more: in lines",),
    ),
]

WORKSHOP = [
    Wrong(
        "adjustment unknown",
        f'{METRE}\n[adjustments]\nvalve.centre = {{ step = "1 mm", most = "3 mm" }}\n',
        "valve.centre",
        "adjustments.valve.centre",
        ("no such length or angle", "valve.central_at"),
    ),
    Wrong(
        "adjustment without a step",
        f'{METRE}\n[adjustments]\nvalve.central_at = {{ most = "3 mm" }}\n',
        'most = "3 mm"',
        "adjustments.valve.central_at",
        ("step or pitch",),
    ),
    Wrong(
        "tolerance unknown",
        f"{METRE}\n[tolerances.valve]\nsteam_lapp = 0.1\n",
        "steam_lapp",
        "tolerances.valve.steam_lapp",
        ("no such length or angle",),
    ),
    Wrong(
        "tolerance below nothing",
        f"{METRE}\n[tolerances]\ngeneral = -0.1\n",
        "general = -0.1",
        "tolerances.general",
        ("0 or more",),
    ),
]

SLIPS_OF_THE_PEN = [
    slip("quote left open", 'gear = "walschaerts"', 'gear = "walschaerts', "close the quote"),
    slip("quote not begun", 'gear = "walschaerts"', 'gear = walschaerts"', "words stand in quotes"),
    slip("word without quotes", 'gear = "walschaerts"', "gear = walschaerts", 'in quotes: "walschaerts"'),
    slip("curly quotes", 'gear = "walschaerts"', "gear = “walschaerts”", "straight quotes"),
    slip("curly mark of inches", "lower_arm = 814", "lower_arm = 32″", "straight quotes"),
    slip("name without quotes", '"forward 25" =', "forward 25 =", '"forward 25" = …'),
    slip("comma left out in a table", 'notch = "full forward", ', 'notch = "full forward" ', "a comma is missing"),
    slip("comma before the bracket", 'direction = "forward" }', 'direction = "forward", }', "take out the comma"),
    slip("bracket of a table left open", 'direction = "forward" }', 'direction = "forward"', "put } where"),
    slip("bracket of a heading left open", "[eccentric_rod]", "[eccentric_rod", "close the heading with ]"),
    slip("heading with a space", "[eccentric_rod]", "[eccentric rod]", "close the heading with ]"),
    slip("fraction without quotes", "lower_arm = 814", "lower_arm = 32 1/16", "fraction stands in quotes"),
    slip("unit without quotes", "lower_arm = 814", "lower_arm = 814 mm", "unit or fraction stands in quotes"),
    slip("inches without quotes", "lower_arm = 814", 'lower_arm = 32"', "unit or fraction stands in quotes"),
    slip("decimal comma", "lower_arm = 814", "lower_arm = 814,5", "a point for decimals"),
    slip("nothing before the point", "lower_arm = 814", "lower_arm = .5", "both sides of the point"),
    slip("no figure", "lower_arm = 814", "lower_arm =", "the figure is missing"),
    slip("no equals sign", "lower_arm = 814", "lower_arm 814", "write key = figure"),
    slip("remark without a mark", "lower_arm = 814", "as built", "begin the line with #"),
    slip("True in capitals", "lower_arm = 814", "lower_arm = True", "small letters"),
    slip("backslash", 'gear = "walschaerts"', 'gear = "c:\\walschaerts"', "for \\,"),
    slip("two on a line", "lower_arm = 814", "lower_arm = 814 upper_arm = 3", "one entry to a line"),
]

SYNTAX = [
    Wrong("bracket left open", replaced("[eccentric_rod]", "[eccentric_rod"), "[eccentric_rod", "", ("TOML",)),
    Wrong(
        "quote left open", replaced('gear = "walschaerts"', 'gear = "walschaerts'), 'gear = "walschaerts', "", ("TOML",)
    ),
    Wrong(
        "fraction without quotes",
        changed("expansion_link", "foot_drop", "5 1/2"),
        "foot_drop = 5 1/2",
        "",
        ("in quotes",),
    ),
    Wrong(
        "unit without quotes",
        changed("expansion_link", "foot_drop", "493 mm"),
        "foot_drop = 493 mm",
        "",
        ("in quotes",),
    ),
    Wrong("decimal comma", changed("expansion_link", "foot_drop", "493,5"), "foot_drop = 493,5", "", ("point",)),
    Wrong(
        "key twice",
        replaced("lower_arm = 814", "lower_arm = 814\nlower_arm = 813"),
        "lower_arm = 813",
        "",
        ("lower_arm", "twice"),
    ),
    Wrong("table twice", f"{METRE}\n[union_link]\nlength = 3\n", METRE.count("\n") + 2, "", ("union_link", "twice")),
    Wrong("NUL within", replaced("[union_link]", "[union_link]\n\0"), "\0", "", ("TOML",)),
    Wrong("deep list", f"deep = {'[' * 5000}{']' * 5000}\n{METRE}", None, "", ("deep",)),
    Wrong("deep table", f"deep = {'{a=' * 3000}1{'}' * 3000}\n{METRE}", None, "", ("deep",)),
    Wrong(
        "deep value",
        changed("reversing.notches", "mid", "[" * 300 + "]" * 300),
        "mid = [[",
        "reversing.notches.mid",
        ("angle",),
    ),
    Wrong("deep key", f"a{'.a' * 900} = 1\n{METRE}", "a.a.a", "a", ("unknown",)),
]

TABLES = [
    Wrong(
        "table misspelt",
        replaced("[eccentric_rod]", "[eccentricrod]"),
        "[eccentricrod]",
        "eccentricrod",
        ("did you mean 'eccentric_rod'",),
    ),
    Wrong(
        "table unknown", f"{METRE}\n[boiler]\npressure = 12\n", "[boiler]", "boiler", ("known here", "eccentric_rod")
    ),
    Wrong("table missing", without("union_link"), None, "", ("[union_link]", "missing", "length")),
    Wrong("notches missing", without("reversing.notches"), None, "notches", ("notches",)),
    Wrong(
        "table a number",
        f"union_link = 325\n{without('union_link')}",
        "union_link = 325",
        "union_link",
        ("325", "[union_link]"),
    ),
    Wrong(
        "key misspelt",
        changed("eccentric_rod", "lenght", "3"),
        "lenght",
        "eccentric_rod.lenght",
        ("did you mean 'length'",),
    ),
    Wrong(
        "key unknown",
        changed("eccentric_rod", "colour", "3"),
        "colour",
        "eccentric_rod.colour",
        ("known here: length",),
    ),
    Wrong(
        "key missing",
        changed("eccentric_rod", "length", None),
        "[eccentric_rod]",
        "eccentric_rod.length",
        ("missing", "give length"),
    ),
    Wrong(
        "key of targets misspelt",
        changed("targets", "lead_diffrence", "3"),
        "lead_diffrence",
        "targets.lead_diffrence",
        ("'lead_difference'",),
    ),
    Wrong(
        "target below nothing",
        changed("targets", "lead_difference", "-1"),
        "lead_difference = -1",
        "targets.lead_difference",
        ("negative",),
    ),
    Wrong(
        "target over 100 %",
        changed("targets", "cutoff_difference", "200"),
        "cutoff_difference = 200",
        "targets.cutoff_difference",
        ("0 to 100",),
    ),
    Wrong(
        "target as text",
        changed("targets", "cutoff_difference", '"2 %"'),
        '"2 %"',
        "targets.cutoff_difference",
        ("0 to 100",),
    ),
    Wrong(
        "lead_within without lead",
        changed("targets", "lead_within", "0.3"),
        "lead_within = 0.3",
        "targets.lead",
        ("give lead",),
    ),
]

FIGURES = [
    length("-1065", "negative"),
    length("0", "more than nothing"),
    length("nan", "not a finite length"),
    length("inf", "not a finite length"),
    length("-inf", "not a finite length"),
    length("1e400", "not a finite length"),
    length("true", "not a length"),
    length("[1]", "not a length"),
    length("{ a = 1 }", "not a length"),
    length("1e300", "over 100 metres", "unit"),
    length("9" * 60, "over 100 metres"),
    length('"nonsense"', "33.3 mm"),
    length('"5 furlongs"', "mm, in, ft, thou"),
    length('"33,3 mm"', "comma", "point"),
    length('"1 5/16"', "1 5/16 in"),
    length('""', "empty"),
    length('"?"', "?"),
    length("1979-05-27", "not a length"),
    length(f'"{"9" * 500}"', "too long"),
    length(r'"\u001b[31m5"', "not a length"),
    length("'''1\n2'''", "not a length", at="length = '''1"),
    Wrong(
        "angle as text",
        changed("cylinder", "inclination", '"2.86 deg"'),
        "2.86 deg",
        "cylinder.inclination",
        ("plain number of degrees",),
    ),
    Wrong(
        "angle too large",
        changed("cylinder", "inclination", "400"),
        "inclination = 400",
        "cylinder.inclination",
        ("-360 to 360",),
    ),
    Wrong(
        "angle nan",
        changed("cylinder", "inclination", "nan"),
        "inclination = nan",
        "cylinder.inclination",
        ("-360 to 360",),
    ),
    Wrong(
        "angle true",
        changed("cylinder", "inclination", "true"),
        "inclination = true",
        "cylinder.inclination",
        ("degrees",),
    ),
    Wrong(
        "admission unknown",
        changed("valve", "admission", '"inner"'),
        "inner",
        "valve.admission",
        ("'outside' or 'inside'",),
    ),
    Wrong(
        "suspension unknown",
        changed("reversing", "suspension", '"block"'),
        '"block"',
        "reversing.suspension",
        ("sliding block",),
    ),
]
