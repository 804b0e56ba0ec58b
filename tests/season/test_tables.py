"""Event tables on disk: what is read back is what was written, types and all."""

from __future__ import annotations

import csv
import errno
import json
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dashboard.table_files import CELLS, read_csv, write_tables
from tagger import tables
from tagger.marks.plain import plain_vocabulary
from tagger.tables import TABLES, Tables, TableShapeError, TablesVersionError, frames, tables_of, version_of
from tagger.written import FullDisk
from tests.counts import cases

ROWS = {
    "shots": [
        {"id": "s1", "shooter": "00", "at_ms": 5, "x_m": 1.5, "y_m": -0.1, "marks": ("a", "b")},
        {"id": "s2", "shooter": "0", "feeder": "none", "marks": ("c",)},
    ],
    "notes": [{"id": "n1", "text": 'He said "go",\r\nthen; left', "star": True}, {"id": "n2", "star": False}],
}


def test_what_is_read_back_is_what_was_written(tmp_path: Path) -> None:
    made = frames(ROWS)
    write_tables(made, tmp_path, {"season": "s1"})
    back = read_csv(tmp_path)
    for name in TABLES:
        pd.testing.assert_frame_equal(back[name], made[name])
    assert back["shots"]["shooter"].tolist() == ["00", "0"]
    about = json.loads((tmp_path / "tables.json").read_text(encoding="utf-8"))
    assert (about["version"], about["season"], about["cells"]) == (tables.VERSION, "s1", CELLS)
    assert about["columns"]["shots"]["shooter"] == "text" and about["columns"]["shots"]["x_m"] == "float"


def test_the_files_are_csv_by_rfc_4180(tmp_path: Path) -> None:
    """RFC 4180: CRLF line ends, one header, quotes doubled inside quoted fields, as many fields in every line."""
    write_tables(frames(ROWS), tmp_path, {})
    raw = (tmp_path / "notes.csv").read_bytes()
    assert raw.endswith(b"\r\n") and b'"He said ""go"",' in raw
    with (tmp_path / "notes.csv").open(encoding="utf-8", newline="") as text:
        read = list(csv.reader(text, strict=True))
    assert {len(row) for row in read} == {len(TABLES["notes"])}
    assert not list(tmp_path.glob("*.part"))


texts = st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=12)


@settings(max_examples=cases(15, many=40), deadline=None)
@given(
    st.lists(
        st.tuples(texts, st.none() | texts, st.none() | st.integers(0, 10**9), st.none() | st.floats(-200, 200)),
        max_size=5,
    )
)
def test_any_text_and_number_comes_back(
    tmp_path_factory: pytest.TempPathFactory, given_rows: list[tuple[str, str | None, int | None, float | None]]
) -> None:
    folder = tmp_path_factory.mktemp("tables")
    rows = [
        {"id": one, "shooter": two, "at_ms": three, "x_m": four, "marks": ("m",)}
        for one, two, three, four in given_rows
    ]
    made = frames({"shots": rows})
    write_tables(made, folder, {})
    pd.testing.assert_frame_equal(read_csv(folder)["shots"], made["shots"])


@pytest.mark.parametrize("begins", ["=", "+", "-", "@", "\t", "\r", "\n", "'", "'="])
def test_no_cell_begins_what_a_spreadsheet_would_reckon_out(tmp_path: Path, begins: str) -> None:
    """OWASP, "CSV Injection": = + - @, tab, carriage return or line feed at a cell’s beginning make a formula."""
    text = begins + 'HYPERLINK("http://x.example","look")'
    made = frames({"notes": [{"id": "-n1", "text": text, "marks": ("-m",)}]})
    write_tables(made, tmp_path, {})
    with (tmp_path / "notes.csv").open(encoding="utf-8", newline="") as file:
        for row in list(csv.reader(file))[1:]:
            assert not [cell for cell in row if cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n"))]
    pd.testing.assert_frame_equal(read_csv(tmp_path)["notes"], made["notes"])


def test_double_nought_is_quoted_text_and_a_number_is_not(tmp_path: Path) -> None:
    write_tables(frames(ROWS), tmp_path, {})
    with (tmp_path / "shots.csv").open(encoding="utf-8", newline="") as file:
        row = next(csv.DictReader(file, quoting=csv.QUOTE_NONNUMERIC, fieldnames=next(file).strip().split(",")), None)
    assert row is not None and row["shooter"] == "00" and row["y_m"] == -0.1


def test_parquet_beside_carries_the_types_themselves(tmp_path: Path) -> None:
    made = frames(ROWS)
    write_tables(made, tmp_path, {}, parquet=True)
    for name in TABLES:
        back = pd.read_parquet(tmp_path / f"{name}.parquet")
        back["marks"] = back["marks"].map(tuple)
        pd.testing.assert_frame_equal(back, made[name], check_dtype=name not in ("clock",) or len(made[name]) > 0)


def test_tables_that_could_not_be_written_whole_leave_those_that_were(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_tables(frames(ROWS), tmp_path, {"season": "before"})
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("dashboard.table_files._write_parquet", full)
    with pytest.raises(FullDisk, match="the disk is full"):
        write_tables(frames({}), tmp_path, {"season": "after"}, parquet=True)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_a_foreign_or_torn_table_is_named_with_its_line(tmp_path: Path) -> None:
    write_tables(frames(ROWS), tmp_path, {})
    path = tmp_path / "shots.csv"
    whole = path.read_text(encoding="utf-8")
    path.write_text("player,goals\n", encoding="utf-8")
    with pytest.raises(TableShapeError, match=r"shots\.csv: the first line"):
        read_csv(tmp_path)
    path.write_text(whole[: len(whole) - 8], encoding="utf-8")
    with pytest.raises(TableShapeError, match=r"shots\.csv, line 3"):
        read_csv(tmp_path)
    path.write_text(whole.replace(",5,", ",five,", 1), encoding="utf-8")
    with pytest.raises(TableShapeError, match=r"line 2: “five” is not a int"):
        read_csv(tmp_path)
    path.unlink()
    with pytest.raises(TableShapeError, match="cannot be read"):
        read_csv(tmp_path)


def test_tables_of_version_1_are_read_and_what_they_did_not_have_is_missing() -> None:
    """Frozen example: `frozen/tables-1` was written by floorbook when its tables were of version 1."""
    back = read_csv(Path(__file__).with_name("frozen") / "tables-1")
    for name, frame in frames({}).items():
        assert back[name].dtypes.to_dict() == frame.dtypes.to_dict(), name
        assert len(back[name]) > 0, name
    lines, screens = back["lines"], back["screens"]
    assert lines["unit"].tolist() == ["first", "first", "second"] and lines["bad"].tolist() == ["no", "yes", "no"]
    assert lines[["players", "out", "in"]].isna().all(axis=None) and screens["again"].isna().all()
    assert screens["setter"].tolist() == ["22", "22", "22"]


def test_a_table_of_version_1_with_todays_header_is_not_taken(tmp_path: Path) -> None:
    write_tables(frames(ROWS), tmp_path, {})
    (tmp_path / "tables.json").write_text(json.dumps({"version": 1}), encoding="utf-8")
    with pytest.raises(TableShapeError, match=r"runs\.csv"):
        read_csv(tmp_path)


def test_tables_of_a_newer_floorbook_are_not_read(tmp_path: Path) -> None:
    write_tables(frames({}), tmp_path, {})
    (tmp_path / "tables.json").write_text(json.dumps({"version": tables.VERSION + 1}), encoding="utf-8")
    with pytest.raises(TablesVersionError, match="update"):
        read_csv(tmp_path)


def with_another(**table: object) -> Tables:
    """The tables of a vocabulary with one kind more."""
    hit = {"name": "hits", "columns": ["player text number", "hard flag hit"], **table}
    return tables_of([*plain_vocabulary()["kinds"], {"code": "hit", "questions": [], "table": hit}])


def test_tables_from_before_a_kind_had_its_own_are_read_and_that_one_is_empty(tmp_path: Path) -> None:
    write_tables(frames(ROWS), tmp_path, {})
    newer = with_another(since=tables.VERSION + 1, columns_since={"hard": tables.VERSION + 2})
    back = read_csv(tmp_path, newer)
    assert back["hits"].dtypes.to_dict() == frames({}, tables=newer)["hits"].dtypes.to_dict()
    assert len(back["hits"]) == 0 and back["shots"]["id"].tolist() == ["s1", "s2"]
    with pytest.raises(TableShapeError, match=r"hits\.csv: cannot be read"):
        read_csv(tmp_path, with_another())


def test_the_version_of_tables_is_that_of_their_newest_column(tmp_path: Path) -> None:
    newer = with_another(since=tables.VERSION + 1, columns_since={"hard": tables.VERSION + 2})
    assert (
        version_of(newer) == tables.VERSION + 2 and version_of(with_another()) == version_of(TABLES) == tables.VERSION
    )
    write_tables(frames({"hits": [{"id": "h1", "hard": True}]}, tables=newer), tmp_path, {}, shapes=newer)
    assert read_csv(tmp_path, newer)["hits"]["hard"].tolist() == [True]
    with pytest.raises(TablesVersionError, match="update"):
        read_csv(tmp_path)


@pytest.mark.parametrize("version", [3, 4])
def test_what_came_after_a_version_says_since_when(version: int) -> None:
    """Frozen: the columns of each version that seasons' tables were written in. A new one is `since` the next."""
    frozen = Path(__file__).with_name("frozen") / f"columns-{version}.json"
    then = json.loads(frozen.read_text(encoding="utf-8"))
    now = {name: [one.name for one in columns if one.since <= version] for name, columns in TABLES.items()}
    assert {name: columns for name, columns in now.items() if columns} == then
