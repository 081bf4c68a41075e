"""Tables of text and sheets of workbooks with more in them than can be meant."""

import zipfile

from tests.hostile.ground import CHECK, START, UNITS, write_property
from tests.hostile.registry import MAKERS, maker


def _table(name, text):
    def make(folder, url):
        write_property(folder, UNITS + 'seed_lots = { path = "lots.csv" }\n')
        (folder / "lots.csv").write_text(text())
        return CHECK

    def make_start(folder, url):
        make(folder, url)
        return START

    MAKERS[name], MAKERS[f"start_{name}"] = make, make_start


LOTS = "lot,species,purity_pct,germination_pct\n"
_table("table_of_line_ends", lambda: LOTS + "\n" * 3_000_000)
_table("table_of_commas", lambda: LOTS + "," * 3_000_000)
_table("table_of_headers", lambda: "," * 1_000_000 + "\n")
_table("table_of_rows", lambda: LOTS + "L1,oats,90,80\n" * 210_000)
_table("table_of_one_cell", lambda: LOTS + "L1," + "x" * 3_000_000 + ",90,80\n")
_table("table_with_escapes", lambda: LOTS + "\x1b[31mL1\x1b[0m,\x1b]0;pwned\x07oats,90,8x0\n")
_table("table_of_escaped_headers", lambda: "\x1b[2Jlot,species,\x1b[31mpurity,germ\n1,2,3,4\n")


def _sheet(folder, sheet_xml, shared=""):
    """A workbook of one sheet, written part by part."""
    kinds = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    package = "http://schemas.openxmlformats.org/package/2006"
    parts = {
        "[Content_Types].xml": f'<Types xmlns="{package}/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.'
        'relationships+xml"/><Default Extension="xml" ContentType="application/xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{kinds}.sheet.main+xml"/>'
        f'<Override PartName="/xl/worksheets/s.xml" ContentType="{kinds}.worksheet+xml"/></Types>',
        "_rels/.rels": f'<Relationships xmlns="{package}/relationships"><Relationship Id="r1" '
        f'Type="{office}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{main}" xmlns:r="{office}"><sheets>'
        '<sheet name="lots" sheetId="1" r:id="r1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{package}/relationships">'
        f'<Relationship Id="r1" Type="{office}/worksheet" Target="worksheets/s.xml"/>'
        "</Relationships>",
    }
    write_property(folder, UNITS + 'seed_lots = { path = "lots.xlsx" }\n')
    with zipfile.ZipFile(folder / "lots.xlsx", "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in parts.items():
            archive.writestr(name, text)
        with archive.open("xl/worksheets/s.xml", "w", force_zip64=True) as file:
            file.write(f'<worksheet xmlns="{main}"><sheetData>'.encode())
            for text in sheet_xml:
                file.write(text.encode())
            file.write(b"</sheetData></worksheet>")


def _row(*texts):
    """A row of a sheet with its cells written out."""
    cells = "".join(f'<c t="inlineStr"><is><t>{text}</t></is></c>' for text in texts)
    return f"<row>{cells}</row>"


HEADER_ROW = _row("lot", "species", "purity_pct", "germination_pct")


@maker
def sheet_of_many_rows(folder, url):
    """More rows than are read."""
    lots = "".join(f"<row><c><v>{number}</v></c></row>" for number in range(210_000))
    _sheet(folder, [HEADER_ROW, lots])
    return CHECK


@maker
def sheet_bomb(folder, url):
    """A small workbook whose sheet unpacks to more than can be meant."""
    blank = "<row/>" * 200_000
    _sheet(folder, [HEADER_ROW, *[blank] * 200])
    return CHECK


@maker
def start_sheet_bomb(folder, url):
    """The same, found by a look at the folder."""
    sheet_bomb(folder, url)
    return START


@maker
def sheet_of_far_cells(folder, url):
    """A cell in the last column and the last row that a workbook can have."""
    far = '<row r="{0}"><c r="XFD{0}"><v>1</v></c></row>'
    _sheet(folder, [HEADER_ROW, *(far.format(n) for n in range(2, 3000))])
    return CHECK


@maker
def sheet_at_the_end(folder, url):
    """One cell in the last row that a workbook can have."""
    _sheet(folder, [HEADER_ROW, '<row r="1048576"><c r="A1048576"><v>1</v></c></row>'])
    return CHECK
