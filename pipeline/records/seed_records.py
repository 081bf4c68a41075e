"""Seed gathered and sown by strip and year, held against harvests, lots and seedings."""

from collections.abc import Iterable

import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.names import spelling
from pipeline.records.layers import SEED_RECORDS

SEED_KINDS = ("harvest", "seed")


def list_seed_records(
    record_book: pd.DataFrame,
    harvests: pd.DataFrame,
    seed_lots: pd.DataFrame,
    seedings: pd.DataFrame,
) -> pd.DataFrame:
    """Table ``seed_records``: a row for each lot of each harvest and sowing, and where it went.

    Lots of one record stand with semicolons between; a harvest of the table is a lot of its name.
    """
    told = pd.DataFrame(record_book[record_book["kind"].isin(SEED_KINDS)])
    if told.empty:
        return empty(SEED_RECORDS)
    rows = told.assign(lot=told["lot"].map(_lots)).explode("lot", ignore_index=True)
    key, name = rows["lot"].map(_key), rows["species"]
    rows["lot_number"] = rows.groupby("number").cumcount() + 1
    of_harvests, of_lots = harvests["harvest"].map(_key), seed_lots["lot"].map(_key)
    tabled = pd.concat([harvests["species"], seed_lots["species"]])
    species = _joined(tabled, pd.concat([of_harvests, of_lots]))
    rows["seed_species"] = name.fillna(key.map(species))
    rows["harvest_lb"] = key.map(harvests["bulk_lb"].groupby(of_harvests).sum()).astype(float)
    rows["origin"] = key.map(_joined(seed_lots["origin"], of_lots))
    rows["areas"] = _areas(rows, seedings)
    where = rows["unit_id"].fillna("a unit not told")
    places = where + (" " + rows["year"].astype("string")).fillna("")
    for column, kind in (("gathered_on", "harvest"), ("sown_on", "seed")):
        is_kind = rows["kind"].eq(kind)
        rows[column] = key.map(_joined(places[is_kind], key[is_kind]))
    return rows[SEED_RECORDS.column_names]


def _lots(cell: str | None) -> list[str | None]:
    """Lots that a cell names; one without a name where it names none."""
    return [part.strip() for part in (cell or "").split(";") if part.strip()] or [None]


def _key(lot: object) -> str | None:
    """Name of a lot as it is compared; None where there is none."""
    return spelling(lot) if isinstance(lot, str) else None


def _joined(values: pd.Series, keys: pd.Series) -> dict[object, str]:
    """Values of each key, each once, in their order."""
    return dict(values.dropna().groupby(keys).agg(_each_once)) if len(values) else {}


def _each_once(values: Iterable[object]) -> str:
    return "; ".join(dict.fromkeys(map(str, values)))


def _areas(rows: pd.DataFrame, seedings: pd.DataFrame) -> list[str | None]:
    """Seeding areas of the unit and mix of each sowing."""
    return [
        _each_once(
            seedings.loc[seedings["unit_id"].eq(row.unit_id) & seedings["mix"].eq(row.mix), "area"]
        )
        or None
        if row.kind == "seed"
        else None
        for row in rows.itertuples()
    ]
