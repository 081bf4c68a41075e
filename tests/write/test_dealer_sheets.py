"""The vendors' sheets: recalculated by LibreOffice they are the layers, and they follow a new tag.

Outside judge: LibreOffice Calc, which computes every formula anew, for the values that the run
stored are taken out first. Without it there is nothing to judge with, so these tests are left out
and say so.
"""

import csv
import re
import shutil
import subprocess
import zipfile
from types import SimpleNamespace

import pandas as pd
import pytest

from pipeline.catalog import CAUSES, LAYERS
from pipeline.core.findings import gather_findings
from pipeline.core.layer import empty
from pipeline.intake.settings import TableSource
from pipeline.intake.tables import read_table
from pipeline.write.dealer_sheets import COLUMNS, HEAD_ROW, sheet_names
from pipeline.write.workbook import write_seed_order_xlsx
from tests.made_seed import BIG, LITTLE, SPECIES, area, line, lot

OFFICE = shutil.which("soffice") or shutil.which("libreoffice")
pytestmark = pytest.mark.skipif(
    OFFICE is None, reason="no LibreOffice on the PATH: install libreoffice-calc-nogui"
)
EVERY_SHEET = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1"
HEADINGS = {column.name: column.heading for column in COLUMNS}
LEGUME = {"species": "Dalea purpurea", "seeds_per_lb": 317000.0, "seed_group": "legume"}


@pytest.fixture(scope="module")
def case():
    """Two vendors, a lot without one, seed that no lot has, a nurse crop and a carrier."""
    offer = {"price_usd_per_pls_lb": 12.0, "pack_lb": 25.0, "vendor": "Prairie: Seed [1]"}
    tag = {"purity_pct": 90.0, "germination_pct": 60.0, "dormant_pct": 20.0}
    return {
        "units": {"U1": 20.0, "U2": 5.0},
        "species": [*SPECIES, LEGUME],
        "seedings": [
            area(planting="2027-05-20"),
            area("South", "U2", method="broadcast", planting="2027-02-15"),
        ],
        "mixes": [
            line(pls_lb_ac=3.0, variety="Local", origin="IA"),
            line(LITTLE, pls_lb_ac=2.0),
            line("Dalea purpurea", pls_lb_ac=0.01),
            line("Unheard of", pls_lb_ac=0.5),
            line("oats", role="nurse", bulk_lb_ac=30.0),
            line("rice hulls", role="carrier", bulk_lb_ac=10.0),
        ],
        "seed_lots": [
            lot("A", BIG, on_hand_bulk_lb=20.0, tested="2026-09-01"),
            {"lot": "B", "species": BIG, "tested": "2026-10-01", "sealed": True, **tag, **offer},
            lot("C", LITTLE, 70.0, offered_bulk_lb=45.5, price_usd_per_bulk_lb=6.0),
            lot("D", "Dalea purpurea", 88.0, price_usd_per_pls_lb=40.0, vendor="Other"),
            {"lot": "O", "species": "oats", "price_usd_per_bulk_lb": 0.4, "vendor": "Other"},
            {"lot": "H", "species": "rice hulls", "price_usd_per_bulk_lb": 0.3},
        ],
    }


@pytest.fixture(scope="module")
def frames(seed_plan, case):
    return seed_plan(**case)


def run_of(frames, **settings):
    columns = {c.name: None for c in LAYERS["settings"].columns} | {"section": "seed"}
    told = [columns | {"setting": k, "value": v} for k, v in settings.items()]
    every = frames | {"findings": gather_findings([frames["seed_findings"]], CAUSES)}
    every |= {name: empty(LAYERS[name]) for name in ("conflicts", "planned_work")}
    every["settings"] = pd.DataFrame(told, columns=list(columns))
    stamp = "2026-10-01T00:00:00.000Z"
    return SimpleNamespace(frames=every, name="Test", season=2027, paper="letter", stamp=stamp)


def recalculated(path, folder, typed=()):
    """Sheets of a workbook as rows of text, its formulas computed anew.

    ``typed`` are changes of cells, as text found in the file and text put in its place.
    """
    bare = folder / "bare.xlsx"
    with zipfile.ZipFile(path) as book, zipfile.ZipFile(bare, "w") as copy:
        for name in book.namelist():
            content = book.read(name).decode() if name.endswith(".xml") else book.read(name)
            if name.startswith("xl/worksheets/sheet"):
                for found, put in typed:
                    content = content.replace(found, put)
                content = re.sub(r"(</f>)<v>[^<]*</v>", r"\1", content)
            copy.writestr(name, content)
    profile = f"-env:UserInstallation=file://{folder}/profile"
    told = [OFFICE, "--headless", profile, "--convert-to", EVERY_SHEET, "--outdir", str(folder)]
    subprocess.run([*told, str(bare)], check=True, capture_output=True, timeout=120)
    return {
        made.stem.removeprefix("bare-"): list(
            csv.reader(made.read_text(encoding="utf-8").splitlines())
        )
        for made in folder.glob("bare-*.csv")
    }


def lines_of(sheets, name):
    """Lines of a vendor's sheet by species, as text by column."""
    rows = sheets[name]
    assert rows[HEAD_ROW] == list(HEADINGS.values())
    body = rows[HEAD_ROW + 1 :]
    end = next(n for n, row in enumerate(body) if row[0].startswith("Total"))
    lines = [dict(zip(HEADINGS, row, strict=True)) for row in body[:end]]
    return {(line["species"], line["lot"]): line for line in lines}, body[end:]


@pytest.fixture(scope="module")
def sheets(frames, tmp_path_factory):
    folder = tmp_path_factory.mktemp("office")
    write_seed_order_xlsx(run_of(frames, ship_to="The barn"), folder / "order.xlsx")
    return recalculated(folder / "order.xlsx", folder)


VENDORS = ("Buy, Prairie  Seed  1", "Buy, Other", "Buy, no vendor yet")


def test_recalculated_sheets_are_the_layers(sheets, frames):
    found = {k: row for v in VENDORS for k, row in lines_of(sheets, v)[0].items()}
    order = frames["seed_order"]
    bought = order[order["packs"].notna() | order["lot"].isna()].fillna({"lot": ""})
    assert set(found) == set(zip(bought["species"], bought["lot"], strict=True))
    for key, row in bought.set_index(["species", "lot"]).iterrows():
        for name in ("bulk_to_order_lb", "packs", "pls_to_order_lb", "cost_usd"):
            text = found[key][name]
            assert (text == "") == bool(pd.isna(row[name])), (key, name)
            if text:
                assert float(text) == pytest.approx(row[name]), (key, name)
    totals = [lines_of(sheets, vendor)[1][0][-1] for vendor in VENDORS]
    assert sum(float(text or 0) for text in totals) == pytest.approx(order["cost_usd"].sum())
    overview = sheets["Order"]
    cost = overview[3].index("Cost ($)")
    assert float(overview[-1][cost]) == pytest.approx(order["cost_usd"].sum())


def test_a_typed_tag_goes_through_to_the_overview(frames, tmp_path):
    # Lot B: 90 % × (60 + 20) % = 72 %. Its new tag says 45 % pure: 36 %, twice the bulk.
    write_seed_order_xlsx(run_of(frames), tmp_path / "order.xlsx")
    sheets = recalculated(tmp_path / "order.xlsx", tmp_path, [("<v>90</v>", "<v>45</v>")])
    row = lines_of(sheets, VENDORS[0])[0][BIG, "B"]
    need = 25 * 3 - 20 * 0.8
    assert float(row["pls_pct"]) == pytest.approx(36)
    assert float(row["bulk_to_buy_lb"]) == pytest.approx(need / 0.36)
    packs = -(-need / 0.36 // 25)
    assert float(row["packs"]) == packs
    assert float(row["cost_usd"]) == pytest.approx(packs * 25 * 0.36 * 12)
    overview = {tuple(r[:3]): r for r in sheets["Order"]}[(BIG, "big bluestem", "B")]
    heads = sheets["Order"][3]
    assert float(overview[heads.index("Cost ($)")]) == pytest.approx(packs * 25 * 0.36 * 12)
    assert float(overview[heads.index("PLS of lot (%)")]) == pytest.approx(36)


def test_the_order_says_what_a_dealer_needs(sheets):
    head = [row[0] for row in sheets[VENDORS[0]][:HEAD_ROW]]
    assert "Ship to: The barn" in head
    # Lot B is sown on 20 May 2027 alone, oats already on 15 Feb: 60 days before these.
    assert any("Need by: 2027-03-21" in words for words in head)
    assert any("Need by: 2026-12-17" in row[0] for row in sheets[VENDORS[1]][:HEAD_ROW])
    big = lines_of(sheets, VENDORS[0])[0][BIG, "B"]
    assert (big["wanted_variety"], big["wanted_origin"], big["lot"]) == ("Local", "IA", "B")
    dalea = lines_of(sheets, VENDORS[1])[0]["Dalea purpurea", "D"]
    # 0.01 lb × 25 ac / 88 % = 0.2841 lb bulk: 5 packs of an ounce.
    assert (dalea["inoculant"], dalea["packs"], dalea["ounces"]) == ("yes", "5", "5")
    unheard = lines_of(sheets, VENDORS[2])[0]["Unheard of", ""]
    assert (unheard["pls_to_buy_lb"], unheard["bulk_to_order_lb"]) == ("12.5", "")


def test_what_is_left_in_the_shed(frames, sheets):
    (row,) = frames["seed_shed"].itertuples()
    assert (row.lot, row.on_hand_bulk_lb, row.used_bulk_lb) == ("A", 20, pytest.approx(20))
    assert row.left_bulk_lb == pytest.approx(0)
    assert sheets["Shed"][4][0] == "A"


def tags(sheets, folder, fill=lambda row: row):
    """The sheet of tags, filled in, as a table of lots that is read like any other."""
    head, *rows = sheets["Tags"]
    with (folder / "lots.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, head)
        writer.writeheader()
        writer.writerows(fill(dict(zip(head, row, strict=True))) for row in rows)
    read = read_table(TableSource(path="lots.csv"), LAYERS["seed_lots"], folder)
    assert not read.faults
    return read.frame.astype(object).where(read.frame.notna(), None).to_dict("records")


def test_tags_come_back_as_lots_without_editing(seed_plan, case, frames, sheets, tmp_path):
    told = tags(sheets, tmp_path)
    assert [row["lot"] for row in told if row["sealed"]] == ["B"]
    again = seed_plan(**case | {"seed_lots": told})
    pd.testing.assert_frame_equal(again["seed_use"], frames["seed_use"])
    pd.testing.assert_frame_equal(again["seed_order"], frames["seed_order"])


def test_sheet_of_tags_is_read_from_the_workbook_itself(frames, sheets, tmp_path):
    write_seed_order_xlsx(run_of(frames), tmp_path / "order.xlsx")
    source = TableSource(path="order.xlsx", sheet="Tags")
    read = read_table(source, LAYERS["seed_lots"], tmp_path)
    assert not read.faults
    told = read.frame.astype(object).where(read.frame.notna(), None)
    as_csv = pd.DataFrame(tags(sheets, tmp_path), dtype=object)
    pd.testing.assert_frame_equal(told, as_csv, rtol=1e-9)  # CSV has fewer decimals of a price


def test_delivered_tags_cover_the_order(seed_plan, case, frames, sheets, tmp_path):
    ordered = frames["seed_order"].groupby("species")["bulk_to_order_lb"].max()

    def delivered(row):
        if row["lot"].startswith("to be bought"):
            return row | {"purity_pct": "95", "germination_pct": "80", "on_hand_bulk_lb": "20"}
        if row["lot"] in {"B", "D", "O", "H"}:
            return row | {"on_hand_bulk_lb": str(ordered[row["species"]])}
        return row

    again = seed_plan(**case | {"seed_lots": tags(sheets, tmp_path, delivered)})
    use = again["seed_use"]
    short = use[use["stock"].ne("held")]
    assert set(short["species"]) == {LITTLE}  # 45.5 lb of lot C are still only on offer


def test_names_of_sheets_differ_and_are_allowed():
    long = "A very long name of a vendor of seed in the west"
    names = sheet_names([long, long + " too", "a/b", "A:B"])
    assert len({name.casefold() for name in names.values()}) == 4
    assert all(len(name) <= 31 and not set(name) & set("[]:*?/\\'") for name in names.values())


def test_a_dealer_who_mixes_by_area_gets_the_pounds_of_each(frames, tmp_path):
    write_seed_order_xlsx(run_of(frames, bagging="by_area"), tmp_path / "order.xlsx")
    rows = recalculated(tmp_path / "order.xlsx", tmp_path)[VENDORS[1]]
    start = next(n for n, row in enumerate(rows) if row[0] == "Area")
    oats = [row[:5] for row in rows[start + 1 :] if row[1] == "oats"]
    assert oats == [["North", "oats", "O", "", "600"], ["South", "oats", "O", "", "150"]]
