"""The event tables as files: CSV that a spreadsheet can't turn against its reader or change, and Parquet beside it.

A spreadsheet takes a cell that begins with = + - @ or a tab for a formula and works it out, quotes or not, so such text
has an apostrophe in front; `tables.json` says so, and reading takes it off again. Text stands in quotes and numbers do
not, so that a program which minds quotes keeps "00" as it is; Parquet carries true types for those that don't.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Mapping
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tagger.tables import TABLES, Column, Tables, TableShapeError, TablesVersionError, frame, version_of
from tagger.written import OWNERS_FOLDER, whole_file

if TYPE_CHECKING:
    import pandas as pd

ABOUT = "tables.json"
CELLS = (
    "text stands in quotes, numbers do not, nothing at all is a missing value; a text that begins with = + - @, a tab, "
    "a line end or an apostrophe has one more apostrophe in front, so that no spreadsheet takes it for a formula"
)
_RECKONED = ("=", "+", "-", "@", "\t", "\r", "\n", "'")
_HARMLESS_SINCE = 3


def write_tables(
    tables: Mapping[str, pd.DataFrame],
    folder: Path,
    about: Mapping[str, Any],
    *,
    parquet: bool = False,
    shapes: Tables = TABLES,
) -> list[Path]:
    """Write the event tables as CSV files (RFC 4180) with `tables.json` beside them: all of them, or none.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        As `tagger.tables.frames` makes them.
    folder : Path
        Made if missing.
    about : mapping
        Written to `tables.json` beside the version, what cells and columns mean: season, games, books, journal heads.
    parquet : bool
        Whether to write each table as Parquet too.
    shapes : mapping of str to tuple of Column
        Which tables there are; those of the package's own vocabulary when left out.

    Returns
    -------
    list of Path
        What was written.

    Raises
    ------
    tagger.written.FullDisk, OSError
        They can't be written; what lay there before still does.
    """
    folder.mkdir(mode=OWNERS_FOLDER, parents=True, exist_ok=True)
    written = []
    with ExitStack() as held:  # each takes its name when all are whole; tables.json, entered first, last
        beside = held.enter_context(whole_file(folder / ABOUT))
        beside.write_text(_about(about, shapes), encoding="utf-8")
        for name, columns in shapes.items():
            for suffix, write in ((".csv", _write_csv), (".parquet", _write_parquet))[: 1 + parquet]:
                target = folder / f"{name}{suffix}"
                write(tables[name], columns, held.enter_context(whole_file(target)))
                written.append(target)
    return [*written, folder / ABOUT]


def names_of(*, parquet: bool = False, shapes: Tables = TABLES) -> list[str]:
    """The files that `write_tables` writes.

    Parameters
    ----------
    parquet : bool
        With Parquet.
    shapes : mapping of str to tuple of Column
        As for `write_tables`.

    Returns
    -------
    list of str
        Their names.
    """
    suffixes = (".csv", ".parquet") if parquet else (".csv",)
    return [ABOUT, *(name + suffix for name in shapes for suffix in suffixes)]


def _about(told: Mapping[str, Any], shapes: Tables) -> str:
    columns = {name: {column.name: column.kind for column in columns} for name, columns in shapes.items()}
    made = {"version": version_of(shapes), **told, "cells": CELLS, "columns": columns}
    return json.dumps(made, ensure_ascii=False, indent=1) + "\n"


def _write_csv(table: pd.DataFrame, columns: tuple[Column, ...], target: Path) -> None:
    with target.open("w", encoding="utf-8", newline="") as out:
        out.write(",".join(column.name for column in columns) + "\r\n")
        for row in zip(*(_cells(table[column.name], column.kind) for column in columns), strict=True):
            out.write(",".join(row) + "\r\n")


def _write_parquet(table: pd.DataFrame, columns: tuple[Column, ...], target: Path) -> None:
    lists = {column.name: table[column.name].map(list) for column in columns if column.kind == "ids"}
    table.assign(**lists).to_parquet(target, engine="pyarrow", index=False)


def _cells(series: pd.Series, kind: str) -> list[str]:
    if kind == "ids":
        return [_quoted(" ".join(value)) for value in series]
    if kind == "flag":
        return ["" if value is None else ("true" if value else "false") for value in _plain(series)]
    if kind == "float":
        return ["" if value is None else repr(float(value)) for value in _plain(series)]
    if kind == "int":
        return ["" if value is None else str(value) for value in _plain(series)]
    return ["" if value is None else _quoted(value) for value in _plain(series)]


def _quoted(text: str) -> str:
    held = "'" + text if text.startswith(_RECKONED) else text
    return '"' + held.replace('"', '""') + '"'


def _plain(series: pd.Series) -> list[Any]:
    return [None if missing else value for value, missing in zip(series.tolist(), series.isna().tolist(), strict=True)]


def read_csv(folder: Path, shapes: Tables = TABLES) -> dict[str, pd.DataFrame]:
    """Read event tables back with the right types.

    Parameters
    ----------
    folder : Path
        As `write_tables` left it, of this version or an older one.
    shapes : mapping of str to tuple of Column
        As for `write_tables`.

    Returns
    -------
    dict of str to DataFrame
        As from `frames`; columns that an older version did not have are missing throughout, tables that it did not have
        are empty.

    Raises
    ------
    TableShapeError
        A file is missing, or its header is not the table's.
    TablesVersionError
        The tables were written by a newer floorbook.
    """
    try:
        about = json.loads((folder / ABOUT).read_text(encoding="utf-8"))
        version = int(about["version"])
    except (OSError, ValueError, KeyError, TypeError) as fault:
        raise TableShapeError(f"{folder}: no readable {ABOUT} there; write the tables again") from fault
    newest = version_of(shapes)
    if version > newest:
        raise TablesVersionError(
            f"{folder}: tables of version {version}, this floorbook reads up to {newest}; update it"
        )
    return {name: _read_one(folder / f"{name}.csv", columns, version) for name, columns in shapes.items()}


def _read_one(path: Path, whole: tuple[Column, ...], version: int) -> pd.DataFrame:
    columns = [column for column in whole if column.since <= version]
    if not columns:  # the table came later
        return frame([], whole)
    names = [column.name for column in columns]
    plain = _without_apostrophe if version >= _HARMLESS_SINCE else str
    try:
        with path.open(encoding="utf-8", newline="") as text:
            reader = csv.reader(text)
            header = next(reader, [])
            if header != names:
                raise TableShapeError(f"{path.name}: the first line is not this table's header; write the tables again")
            rows = []
            for row in reader:
                if len(row) != len(names):
                    raise TableShapeError(
                        f"{path.name}, line {reader.line_num}: {len(row)} fields where {len(names)} belong; "
                        "write the tables again"
                    )
                rows.append(
                    {
                        c.name: _value(plain(cell), c.kind, path, reader.line_num)
                        for c, cell in zip(columns, row, strict=True)
                    }
                )
    except OSError as fault:
        raise TableShapeError(f"{path.name}: cannot be read; write the tables again") from fault
    return frame(rows, whole)


def _value(cell: str, kind: str, path: Path, line: int) -> Any:
    if kind == "ids":
        return tuple(cell.split())
    if cell == "":
        return None
    try:
        if kind == "int":
            return int(cell)
        if kind == "float":
            return float(cell)
        if kind == "flag":
            return {"true": True, "false": False}[cell]
    except (ValueError, KeyError) as fault:
        raise TableShapeError(f"{path.name}, line {line}: “{cell}” is not a {kind}; write the tables again") from fault
    return cell


def _without_apostrophe(cell: str) -> str:
    return cell[1:] if cell.startswith("'") else cell
