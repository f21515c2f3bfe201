"""The same fleet through every kind of table that is taken: equal answers, in the kind that came in."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import pandas as pd
import polars as pl
import pyarrow as pa
import pyarrow.parquet
import pytest
import xlsxwriter

import wheelend

TODAY = "2025-06-20"
Texts = dict[str, list[str]]


def value(text: str) -> Any:
    """A cell as a person types it into a typed table."""
    try:
        return dt.date.fromisoformat(text) if "-" in text else int(text)
    except ValueError:
        return text


def typed(columns: Texts) -> dict[str, list[Any]]:
    return {name: [value(t) for t in texts] for name, texts in columns.items()}


class Capsule:
    """A table of which only the Arrow stream is known, and that once."""

    def __init__(self, table: pa.Table) -> None:
        self._table: pa.Table | None = table

    def __arrow_c_stream__(self, requested_schema: object = None) -> object:
        assert self._table is not None, "the stream was taken twice"
        table, self._table = self._table, None
        return table.__arrow_c_stream__(requested_schema)


# ---- the ways in: texts or typed values of the fleet, and a folder for files, to something that read_log takes


def csv(columns: Texts, folder: Path) -> Path:
    path = folder / "table.csv"
    lines = [",".join(columns), *(",".join(cells) for cells in zip(*columns.values(), strict=True))]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def parquet(columns: Texts, folder: Path) -> Path:
    path = folder / "table.parquet"
    pyarrow.parquet.write_table(pa.table(typed(columns)), path, row_group_size=7)
    return path


def parquet_of_dictionaries(columns: Texts, folder: Path) -> Path:
    path = folder / "table.parquet"
    table = pa.table(typed(columns))
    coded = [c.dictionary_encode() if c.type == pa.string() else c for c in table.columns]
    pyarrow.parquet.write_table(pa.table(coded, names=table.column_names), path)
    assert any(pa.types.is_dictionary(f.type) for f in pyarrow.parquet.read_schema(path))
    return path


def parquet_of_text(columns: Texts, folder: Path) -> Path:
    path = folder / "table.parquet"
    pyarrow.parquet.write_table(pa.table(columns), path)
    return path


def workbook(columns: Texts, folder: Path) -> Path:
    path = folder / "table.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet, date = book.add_worksheet(), book.add_format({"num_format": "yyyy-mm-dd"})
        for j, (name, values) in enumerate(typed(columns).items()):
            sheet.write(0, j, name)
            for i, v in enumerate(values, 1):
                if isinstance(v, dt.date):
                    sheet.write_datetime(i, j, v, date)
                else:
                    sheet.write(i, j, v)
    return path


def workbook_of_text(columns: Texts, folder: Path) -> Path:
    path = folder / "table.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        for j, (name, texts) in enumerate(columns.items()):
            for i, text in enumerate([name, *texts]):
                sheet.write_string(i, j, text)
    return path


def dates_of(frame: pd.DataFrame) -> pd.DataFrame:
    if "read_on" in frame:
        frame["read_on"] = pd.to_datetime(frame["read_on"])
    return frame


def pandas_objects(columns: Texts, _: Path) -> Any:
    return pd.DataFrame(typed(columns), dtype=object)


def pandas_text(columns: Texts, _: Path) -> Any:
    return pd.DataFrame(columns)


def pandas_plain(columns: Texts, _: Path) -> Any:
    return dates_of(pd.DataFrame(typed(columns)))


def pandas_floats(columns: Texts, _: Path) -> Any:
    """As they become when one cell of the column was blank once: axle 1 is 1.0."""
    frame = dates_of(pd.DataFrame(typed(columns)))
    whole = frame.select_dtypes("integer").columns
    return frame.astype(dict.fromkeys(whole, "float64"))


def pandas_nullable(columns: Texts, _: Path) -> Any:
    return dates_of(pd.DataFrame(typed(columns)).convert_dtypes())


def pandas_of_arrow(columns: Texts, _: Path) -> Any:
    return pa.table(typed(columns)).to_pandas(types_mapper=pd.ArrowDtype)


def pandas_categories(columns: Texts, _: Path) -> Any:
    frame = pd.DataFrame(typed(columns))
    return frame.astype({n: "category" for n in ("unit", "side", "dual", "kind", "role", "read_on") if n in frame})


def pandas_other_index(columns: Texts, _: Path) -> Any:
    frame = dates_of(pd.DataFrame(typed(columns)))
    frame.index = pd.Index(range(1000, 1000 - len(frame), -1), name="number")
    return frame


def polars_eager(columns: Texts, _: Path) -> Any:
    return pl.DataFrame(typed(columns))


def polars_lazy(columns: Texts, _: Path) -> Any:
    return pl.LazyFrame(typed(columns))


def polars_categories(columns: Texts, _: Path) -> Any:
    frame = pl.DataFrame(typed(columns))
    return frame.with_columns(pl.col("unit", "side", "dual").cast(pl.Categorical))


def arrow(columns: Texts, _: Path) -> Any:
    return pa.table(typed(columns))


def arrow_in_pieces(columns: Texts, _: Path) -> Any:
    """Chunks of unlike sizes, an empty one among them."""
    table = pa.table(typed(columns))
    return pa.concat_tables([table.slice(0, 1), table.slice(1, 0), table.slice(1, 4), table.slice(5)])


def arrow_views(columns: Texts, _: Path) -> Any:
    table = pa.table(typed(columns))
    views = [c.cast(pa.string_view()) if c.type == pa.string() else c for c in table.columns]
    return pa.table(views, names=table.column_names)


def arrow_batch(columns: Texts, _: Path) -> Any:
    return pa.RecordBatch.from_pydict(typed(columns))


def arrow_reader(columns: Texts, _: Path) -> Any:
    return pa.table(typed(columns)).to_reader(max_chunksize=3)


def arrow_capsule(columns: Texts, _: Path) -> Any:
    return Capsule(pa.table(typed(columns)))


def duckdb_relation(columns: Texts, folder: Path) -> Any:
    database = duckdb.connect()
    database.register("fleet", pa.table(typed(columns)))
    return database.sql("select * from fleet")


def lists(columns: Texts, _: Path) -> Any:
    return typed(columns)


def lists_of_text(columns: Texts, _: Path) -> Any:
    return columns


def numpy_arrays(columns: Texts, _: Path) -> Any:
    arrays = {n: np.array(v) for n, v in typed(columns).items()}
    if "read_on" in arrays:
        arrays["read_on"] = arrays["read_on"].astype("datetime64[D]")
    return arrays


FILES = [csv, parquet, parquet_of_dictionaries, parquet_of_text, workbook, workbook_of_text]
PANDAS = [
    pandas_objects, pandas_text, pandas_plain, pandas_floats, pandas_nullable, pandas_of_arrow, pandas_categories,
    pandas_other_index,
]  # fmt: skip
POLARS = [polars_eager, polars_lazy, polars_categories]
ARROW = [arrow, arrow_in_pieces, arrow_views, arrow_batch, arrow_reader, arrow_capsule, duckdb_relation]
DICTS = [lists, lists_of_text, numpy_arrays]
KINDS: dict[Callable[[Texts, Path], Any], type] = {
    **dict.fromkeys([*FILES, *ARROW], pa.Table),
    **dict.fromkeys(PANDAS, pd.DataFrame),
    **dict.fromkeys(POLARS, pl.DataFrame),
    **dict.fromkeys(DICTS, dict),
}
WORDS: dict[str, Callable[..., Any]] = {
    "judge": wheelend.judge,
    "judge_all": lambda log: wheelend.judge(log, all=True),
    "pressures": wheelend.pressures,
    "wear": wheelend.wear,
    "standing": wheelend.standing,
}


def plain_cell(cell: Any) -> Any:
    """One notation for what the kinds of tables write each in its own: missing values, days, numbers of numpy."""
    if cell is None or cell is pd.NaT or cell is pd.NA:
        return None
    if isinstance(cell, np.datetime64):
        return None if np.isnat(cell) else cell.astype("datetime64[D]").item()
    if isinstance(cell, np.generic):
        cell = cell.item()
    if isinstance(cell, dt.datetime):
        return cell.date()
    if isinstance(cell, float) and cell != cell:
        return None
    return cell


def rows(result: Any) -> list[dict[str, Any]]:
    """A result of any kind as rows of plain values."""
    if isinstance(result, pa.Table):
        columns = result.to_pydict()
    elif isinstance(result, pl.DataFrame):
        columns = result.to_dict(as_series=False)
    else:
        columns = {name: list(result[name]) for name in result}
    return [dict(zip(columns, map(plain_cell, cells), strict=True)) for cells in zip(*columns.values(), strict=True)]


@pytest.fixture
def expected(history: Any, positions: Any) -> dict[str, list[dict[str, Any]]]:
    """What the fleet says as an Arrow table of text. That it is right is checked elsewhere, and in part just below."""
    log = wheelend.read_log(pa.table(history.columns()), pa.table(positions.columns()), today=TODAY)
    return {word: rows(function(log)) for word, function in WORDS.items()}


def test_the_expected_answers_say_something(expected: dict[str, list[dict[str, Any]]]) -> None:
    """Worked out by hand from the fixture, so that equal answers are not equally empty."""
    bald = {
        (v["unit"], v["axle"], v["side"], v["reading"])
        for v in expected["judge"]
        if v["limit_id"] == "US-T-02" and v["verdict"] == "fail"
    }
    assert bald == {("T1", 1, "left", 2)}
    assert len(expected["pressures"]) == 6
    at = {(w["unit"], w["axle"], w["side"], w["dual"]): w for w in expected["wear"]}
    worn = at["T1", 2, "left", "outer"]
    assert worn["readings_used"] == 4
    assert worn["rate_32nds_per_1000mi"] == pytest.approx(0.2, abs=0.03)  # 1/32 in each 5000 miles
    assert {s["unit"]: s["standing"] for s in expected["standing"]}["T1"] == "hold"


@pytest.mark.parametrize("way", KINDS, ids=lambda f: f.__name__)
def test_every_way_in_gives_the_same_answers_in_its_kind(
    way: Callable[[Texts, Path], Any], expected: dict[str, Any], history: Any, positions: Any, tmp_path: Path
) -> None:
    folders = tmp_path / "readings", tmp_path / "positions"
    for folder in folders:
        folder.mkdir()
    log = wheelend.read_log(way(history.columns(), folders[0]), way(positions.columns(), folders[1]), today=TODAY)
    assert log.issue_list.counts == {"row": 0, "cell": 0, "note": 0}
    assert log.counts["readings"].values_used == 24 * 6
    for word, function in WORDS.items():
        result = function(log)
        assert type(result) is KINDS[way], word
        assert rows(result) == expected[word], word
    assert type(log.issues) is KINDS[way]


@pytest.mark.parametrize("way", [csv, pandas_plain, polars_eager, arrow, lists], ids=lambda f: f.__name__)
def test_bad_cells_are_named_alike(
    way: Callable[[Texts, Path], Any], history: Any, positions: Any, tmp_path: Path
) -> None:
    """A column of a frame with one text in it is judged cell by cell, as a file is; rows are numbered alike."""
    history.set(4, "pressure_psi", "n/a").set(6, "side", "curb")
    columns = history.columns()
    columns["tire_degf"][7] = "hot" if way is not arrow and way is not polars_eager else ""
    if way is arrow or way is polars_eager:  # a typed column cannot hold a text: all of it is text, then
        columns["tire_degf"][7] = "hot"
        columns["tread_inner_32nds"][1] = "-5"
        made: Any = pa.table(columns) if way is arrow else pl.DataFrame(columns)
    else:
        columns["tread_inner_32nds"][1] = "-5"
        made = way(columns, tmp_path)
    log = wheelend.read_log(made, positions.columns(), today=TODAY)
    found = {(i["row"], i["column"], i["text"], i["rule"], i["effect"]) for i in rows(log.issues)}
    assert found == {
        (3, "tread_inner_32nds", "-5", "negative", "cell"),
        (6, "side", "curb", "unknown_code", "row"),
        (9, "tire_degf", "hot", "not_a_number", "cell"),
    }
