"""Tables held against their models, and what is told of the first figure that does not fit."""

from __future__ import annotations

from typing import Any, get_args, get_origin

from pydantic import BaseModel, ValidationError

from linkmotion.engine_layers import parted
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.figure_fault import FigureFault
from linkmotion.files.gathered import Gathered
from linkmotion.files.record_keys import RECORD_KEYS
from linkmotion.files.schema import table_model
from linkmotion.files.slip_question import figures_meant, slipped
from linkmotion.files.source import Source, Where, dotted, shown
from linkmotion.gears.layering import table_types


def validated(
    source: Source, model: type[BaseModel], value: dict[str, Any], where: Where, gathered: Gathered
) -> dict[str, Any]:
    """The figures given in a table, read by its model.

    Parameters
    ----------
    source : Source
        In which the table stands.
    model : type
        What it may hold.
    value : dict
        As read.
    where : tuple of str
        Path of the table.
    gathered : Gathered
        Takes what its figures were worked from.

    Raises
    ------
    FileError
        With line, key and remedy: of the topmost fault, a missing key last.
    """
    try:
        read = model.model_validate(value, context=gathered)
    except ValidationError as error:
        raise _told(source, error.errors(), model, value, where) from None
    given = {key: getattr(read, key) for key in model.model_fields if key in read.model_fields_set}
    found = {key: gathered.plain(each, (*where, key)) for key, each in given.items()}
    return {
        k: each.model_dump(exclude_unset=True) if isinstance(each, BaseModel) else each for k, each in found.items()
    }


def needed(table: Any) -> list[str]:
    """Keys that a table of the dimension book must have.

    Parameters
    ----------
    table : type
        Its dataclass.
    """
    return [name for name, key in table_model(table, "mm", True).model_fields.items() if key.is_required()]


def wanted(gear: Any, unit: str, where: Where) -> str:
    """What a key of a gear's tables, the drawing's, a side's or a state's, means in the dimension book.

    Parameters
    ----------
    gear, unit : type, str
        The gear's dataclass; the file's unit.
    where : tuple of str
        Path of the key.
    """
    tables = table_types(gear)
    table, *keys = parted(where)[1] or ("",)
    if table not in tables or not keys:
        return "give its figure"
    field = _inner(table_model(tables[table], unit, False), tuple(keys)).model_fields.get(keys[-1])
    return field.description if field is not None and field.description else "give its figure"


def _told(source: Source, errors: list[Any], model: type[BaseModel], value: dict[str, Any], where: Where) -> FileError:
    """The fault to be told first: the topmost; a missing key last, since a misspelt one is missing too."""

    def place(error: Any) -> tuple[bool, int]:
        return error["type"] == "missing", source.line(_path(where, error)) or 0

    error = min(errors, key=place)
    path = _path(where, error)
    match error["type"]:
        case "extra_forbidden":
            known = [*_known_at(model, error["loc"]), *(RECORD_KEYS if len(error["loc"]) == 1 else ())]
            return source.fault(path, "unknown", nearest(path[-1], known))
        case "missing":
            remedy = f"give {path[-1]} in [{dotted(path[:-1])}]"
            return source.fault(path, "missing", remedy, "it is missing: give it too")
        case "string_type":
            read = shown(error["input"])
            remedy, plain = f'write {path[-1]} = "…"', f"read {read}: wanted are words"
            return source.fault(path, f"read {read}, wanted words in quotes", remedy, plain)
        case "literal_error":
            return source.fault(path, f"read {shown(error['input'])}", f"choose {error['ctx']['expected']}")
        case "list_type":
            entry = " = …, ".join(_known_at(model, (*error["loc"], 0, "")))
            return source.fault(path, f"read {shown(error['input'])}", f"write [ {{ {entry} = … }}, … ]")
        case "dict_type" if len(where) > 1:
            return source.fault(path, f"read {shown(error['input'])}, wanted a table", "write { NAME = …, … }")
        case "value_error" if isinstance(fault := error["ctx"]["error"], FigureFault):
            return source.fault((*path, *fault.inner), fault.problem, fault.remedy)
        case "value_error":
            asked = figures_meant(error["input"], lambda figure: _taken(model, value, error["loc"], figure))
            return _no_such_figure(source, path, error, asked)
    keys = ", ".join(f"{key} = …" for key in _known_at(model, (*error["loc"], "")))
    return source.fault(path, f"read {shown(error['input'])}, wanted a table", f"write {{ {keys} }}")


def _no_such_figure(source: Source, path: Where, error: Any, asked: list[float]) -> FileError:
    """That a figure can be none of its key; asked whether another was meant, where a slip of the pen explains it."""
    problem, remedy = str(error["ctx"]["error"]), "correct this figure"
    if not asked:
        return source.fault(path, problem, remedy)
    written = ", or ".join(slipped(path, error["input"], figure) for figure in asked)
    meant = " or ".join(f"{figure:.6g}" for figure in asked)
    plain = f"{problem}. Is it {meant}? Else correct this figure."
    return source.fault(path, problem, f"is it {written}? Else {remedy}", plain)


def _taken(model: type[BaseModel], value: Any, loc: tuple[Any, ...], figure: float) -> bool:
    """Whether a figure is taken at a place of a table, whatever else is wrong with it."""
    try:
        model.model_validate(_with(value, loc, figure))
    except ValidationError as error:
        return all(each["loc"] != loc for each in error.errors())
    return True


def _with(value: Any, loc: tuple[Any, ...], figure: float) -> Any:
    if not loc:
        return figure
    entries = value.copy()  # of a table or a list
    entries[loc[0]] = _with(value[loc[0]], loc[1:], figure)
    return entries


def _path(where: Where, error: Any) -> Where:
    return (*where, *(str(part) for part in error["loc"] if part != "[key]"))  # of a name that is none


def _inner(model: type[BaseModel], loc: tuple[Any, ...]) -> type[BaseModel]:
    """The model in which the last key of a path stands."""
    kind: Any = model
    for step in loc[:-1]:
        # of a model its field, of a list or a table of names what each entry is
        kind = kind.model_fields[step].annotation if kind is model else get_args(kind)[-1:]
        inside = [kind, *get_args(kind)] if not isinstance(kind, tuple) else list(kind)
        kind = next((k for k in inside if _is_model(k) or get_origin(k) in (dict, list)), None)
        if kind is None:
            break
        model = kind if _is_model(kind) else model
    return model


def _is_model(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, BaseModel)


def _known_at(model: type[BaseModel], loc: tuple[Any, ...]) -> list[str]:
    return list(_inner(model, loc).model_fields)
