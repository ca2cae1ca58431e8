"""Price files and stock files: what is refused and where, what is said, how units and names are read."""

from __future__ import annotations

import openpyxl
import pandas as pd
import pytest
import scipy.constants as physical

from gatepost.choosing.costs import fastener_prices, material_prices, part_costs
from gatepost.deriving import derive
from gatepost.errors import InputError
from gatepost.library import library
from gatepost.reading import read
from gatepost.reading.files import csv_rows
from gatepost.reading.prices import read_prices
from gatepost.reading.sizes import Context
from gatepost.reading.stock import read_stock

KNOWN, US = library(), Context("in", "us")
HEAD = "item,unit,price,currency\n"


def prices(text, head=HEAD, context=US):
    return read_prices(csv_rows((head + text).encode(), "prices.csv"), KNOWN, context)


def problems(text, head=HEAD):
    with pytest.raises(InputError) as caught:
        prices(text, head)
    return [str(problem) for problem in caught.value.problems]


# Foot and gallon by scipy.constants; the board foot is a twelfth of a cubic foot, a sheet is 4 by 8 feet (practice).
@pytest.mark.parametrize(
    ("item", "unit", "amount"),
    [
        ("white oak", "m3", 1), ("white oak", "cubic foot", physical.foot**3), ("white oak", "Board Foot", physical.foot**3 / 12),
        ("white oak", "MBF", 1000 * physical.foot**3 / 12), ("3/4 CDX plywood", "sq. ft", physical.foot**2), ("3/4 CDX plywood", "sheet", 32 * physical.foot**2),
        ("white oak 1x6", "linear foot", physical.foot), ("paint", "gallon", physical.gallon * 1000), ("paint", "quart", physical.gallon * 250),
        ("galvanized bolt", "box of 50", 50), ("galvanized bolt", "each", 1), ("galvanized bolt", "dozen", 12), ("white oak 4x4x8", "piece", 8 * physical.foot),
    ],
)  # fmt: skip
def test_units_are_those_of_the_reference(item, unit, amount):
    made = prices(f"{item},{unit.replace('.', '')},10,USD\n").items
    assert made["price"].iat[0] == pytest.approx(10 / amount, rel=1e-6)


def test_every_row_that_cannot_be_used_is_named_at_once():
    told = problems(
        "white oak,board foot,,USD\n"
        "red oak,board foot,-3,USD\n"
        "redwood,board foot,0,USD\n"
        "white ash,board foot,4,EUR\n"
        "ipe,stone,4,USD\n"
        "cumaru,board foot,cheap,USD\n"
        "garapa,,4,USD\n"
        "baldcypress,board foot,4,\n"
        ",board foot,4,USD\n"
    )
    starts = [
        "2: price",
        "3: price",
        "4: price",
        "5: currency",
        "6: unit",
        "7: price",
        "8: unit",
        "9: currency",
        "10: item",
    ]
    assert [line.removeprefix("prices.csv:").split(": ")[:2] for line in told] == [
        start.split(": ") for start in starts
    ]
    assert "above 0" in told[1]
    assert "above 0" in told[2]
    assert "USD" in told[3]
    assert "box of 100" in told[4]


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("white oak,sheet,4,USD", "thickness"),
        ("white oak,linear foot,4,USD", "thickness and width"),
        ("white oak,piece,4,USD", "length"),
        ("galvanized bolt,board foot,4,USD", "piece"),
        ("paint,piece,4,USD", "litre"),
        ("white oak,board foot,€4,USD", "EUR"),
        ('white oak,board foot,"1,250",USD', "1250"),
        ("white oak,board foot,4,dollars", "three letters"),
        ("white oak,bord foot,4,USD", "board foot"),
    ],
)
def test_a_price_that_does_not_fit_its_item_says_what_to_write(row, said):
    [line] = problems(row + "\n")
    assert said in line


@pytest.mark.parametrize(
    ("head", "said"),
    [
        ("item,unit,price\n", "currency"),
        ("what,how\n", "item and unit"),
        ("item,material,unit,price,currency\n", "two headings"),
    ],
)
def test_headings_that_are_missing_or_double_are_named(head, said):
    [line] = problems("white oak,board foot,4,USD\n", head)
    assert said in line


def test_a_file_without_prices_is_refused():
    assert "no prices" in problems("")[0]


def test_the_same_item_at_two_prices_is_refused_and_at_one_price_stands_once():
    [line] = problems("western red cedar,board foot,4,USD\nWRC,bd ft,5,USD\n")
    assert line.startswith("prices.csv:3: price")
    assert "line 2" in line
    assert len(prices("western red cedar,board foot,4,USD\nWRC,bd ft,4,USD\n").items) == 1
    assert "line 2" in problems("western red cedar,board foot,4,USD\nWRC,m3,5,USD\n")[0]


def test_an_unknown_item_is_said_with_the_nearest_names_and_left_out():
    made = prices("wite oack,board foot,4,USD\nwhite oak,board foot,4,USD\n")
    assert list(made.items["item"]) == ["white oak"]
    [said] = made.said
    assert said.startswith("prices.csv:2:")
    assert "white oak" in said


def test_a_stray_word_beside_a_known_item_is_said():
    [said] = prices("white oak selekt,board foot,4,USD\n").said
    assert said.startswith("prices.csv:2:")
    assert "selekt" in said


def test_titles_and_notes_are_no_prices():
    made = prices(
        "Hardwoods,,,,\nwhite oak,board foot,4,USD,from the yard\n,,,,\n",
        "Our list,,,,\nItem,Per,Price,Currency,Note\n",
    )
    assert len(made.items) == 1
    assert made.items["line"].iat[0] == 4
    assert "3" in made.said[0]


def test_a_workbook_reads_like_the_list(tmp_path):
    book = openpyxl.Workbook()
    for row in (["item", "unit", "price", "currency"], ["white oak", "board foot", 4.5, "USD"]):
        book.active.append(row)
    book.save(tmp_path / "prices.xlsx")
    (tmp_path / "parts.csv").write_text("part,material\npost,white oak\n")
    made = read(tmp_path / "parts.csv", prices=str(tmp_path / "prices.xlsx")).prices
    assert made.items["price"].iat[0] == pytest.approx(4.5 / (physical.foot**3 / 12), rel=1e-6)


def parts_of(tmp_path, *rows, head="part,material,thickness,width,length,finish,upkeep"):
    (tmp_path / "parts.csv").write_text("\n".join([head, *rows]) + "\n")
    return derive(read(tmp_path / "parts.csv")).parts


def chosen(parts, made):
    return [None if row < 0 else made.items["item"].iat[row] for row in material_prices(parts, made)]


def test_the_price_that_tells_most_wins_and_none_that_contradicts(tmp_path):
    made = prices(
        "western red cedar,board foot,4,USD\nwestern red cedar heartwood,board foot,6,USD\nsouthern pine treated UC4A,board foot,2,USD\n"
        "southern pine treated UC4B,board foot,3,USD\nsouthern pine,board foot,1,USD\n3/4 CDX plywood,sheet,50,USD\ngalvanized steel,piece,9,USD\n"
    )
    rows = ["western red cedar", "all heart WRC", "southern pine UC4A", "southern pine UC4B", "PT southern pine", "SYP", "3/4 CDX plywood", "1/2 CDX plywood", "galvanized steel", "white oak", "stainless steel"]  # fmt: skip
    parts = parts_of(tmp_path, *(f"{at},{text},,,,," for at, text in enumerate(rows)))
    assert chosen(parts, made) == [
        "western red cedar", "western red cedar heartwood", "southern pine treated UC4A", "southern pine treated UC4B", "southern pine treated UC4B", "southern pine", "3/4 CDX plywood", None, "galvanized steel", None, None,
    ]  # fmt: skip


def test_a_missing_price_or_size_is_never_nothing(tmp_path):
    made = prices("white oak,board foot,4,USD\n")
    parts = parts_of(
        tmp_path,
        "no price,red oak,1,4,48,,",
        "no length,white oak,1,4,,,",
        'no finish price,white oak,1,4,48,"paint, 2 coats",5',
        "bare,white oak,1,4,48,none,",
    )
    first = part_costs(parts, made, "us", KNOWN)["first"]
    assert first.isna().tolist() == [True, True, True, False]
    assert first.iat[3] > 0


# Worked by hand: 6 boards of 1x6, 8 feet are 24 board feet; at 3.40 bought with 15 % waste they cost 96, planing and
# fitting at 1.00 a board foot 24; a litre of stain on 5 m2 and 6 boards of 5.5 x 0.75 in (all faces) is 11.2 m2.
def test_a_bill_worked_by_hand(tmp_path):
    made = prices(
        "western red cedar,board foot,3.40,USD,1\nsemitransparent stain,litre,10,USD,\n",
        "item,unit,price,currency,labour\n",
    )
    parts = parts_of(
        tmp_path,
        '6,fence board,western red cedar,0.75,5.5,96,"semitransparent stain, 2 coats",4',
        head="qty,part,material,thickness,width,length,finish,upkeep",
    )
    bill = part_costs(parts, made, "us", KNOWN).iloc[0]
    assert bill["material"] == pytest.approx(96)
    assert bill["labour"] == pytest.approx(24)
    area = 6 * 2 * (5.5 * 96 + 0.75 * 96 + 0.75 * 5.5) * 0.0254**2
    gallon, square_foot = 3.785411784, 0.3048**2  # litres, m2
    spread = (200 + 400) / 2 * square_foot / gallon  # 200 to 400 square feet a gallon, see finish_cover.csv
    assert bill["coat"] == pytest.approx(10 * area / spread, rel=0.01)
    assert bill["first"] == pytest.approx(120 + 2 * bill["coat"])
    assert [bill[f"coat_every_{end}"] for end in ("low", "likely", "high")] == [4, 4, 4]


def test_fasteners_are_priced_by_kind_metal_and_coat(tmp_path):
    made = prices(
        "galvanized bolt,piece,2,USD\nstainless 304 bolt,piece,5,USD\nstainless 304 wood screw,box of 100,25,USD\n"
    )
    (tmp_path / "parts.csv").write_text("part,material\na,oak\nb,oak\n")
    (tmp_path / "joints.csv").write_text(
        "joint,part_a,part_b,method,fastener,coating\n1,a,b,bolts,bolt,stainless 304\n2,a,b,screws,wood screw,stainless 304\n3,a,b,bolts,bolt,bronze\n"
    )
    (tmp_path / "project.yaml").write_text("parts: parts.csv\njoints: joints.csv\n")
    rows = fastener_prices(read(tmp_path / "project.yaml").joints, made)
    assert [None if row < 0 else round(made.items["price"].iat[row], 2) for row in rows] == [5, 0.25, None]


def test_a_metric_list_prices_what_is_written_not_a_nominal_size(tmp_path):
    made = prices("European larch,board foot,4,EUR\n", context=Context("mm", "eu"))
    (tmp_path / "parts.csv").write_text("part,material,thickness,width,length\nrail,European larch,50,100,1000\n")
    parts = derive(read(tmp_path / "parts.csv", scheme="eu")).parts
    bill = part_costs(parts, made, "eu", KNOWN).iloc[0]
    assert bill["amount"] == pytest.approx(0.005)


def stock(text):
    return read_stock(csv_rows(text.encode(), "stock.csv"), KNOWN, US)


def test_stock_reads_like_a_parts_list():
    made = stock(
        "Our shelf\nMaterial,Treatment,Heart or sap,Qty\nwestern red cedar,,heartwood,4\nsouthern pine,CA-C 0.15 pcf UC4A,,\n\nwestern rad cedar,,,\n"
    )
    first, second, third = made.materials
    assert (first["species"], first["wood_part"], first["treatment"]) == ("western redcedar", "heartwood", "none")
    assert (second["species"], second["wood_part"], second["treatment"]) == ("southern pine", "mixed", "CA-C 0.15 pcf UC4A")  # fmt: skip
    assert third["material"] == third["species"] == "western redcedar"
    assert any("stock.csv:6" in text and "rad" in text for text in made.said)
    assert any("stock.csv:6" in text and "may mean" in text for text in made.said)
    assert any("Qty" in text for text in made.said)


def test_a_stock_row_in_one_cell_is_read_into_every_column_of_a_material():
    made = stock("material\nPT SYP 2x6 MCA ground contact\nA-C plywood\n")
    lumber, panel = made.materials
    assert lumber == {"material": "southern pine, MCA UC4A", "product": "lumber", "species": "southern pine", "wood_part": "mixed", "treatment": "MCA UC4A", "incised": "no", "origin": "new"}  # fmt: skip
    assert (panel["product"], panel["grade"], panel["treatment"]) == ("plywood", "A-C", "none")
    assert any("stock.csv:2" in text and "size" in text for text in made.said)


@pytest.mark.parametrize(
    ("row", "why"),
    [("plywood", "grade"), ("oak", "red oak or white oak"), ("steel", "no wood"), ("blackboard", "no wood")],
)
def test_a_stock_row_that_names_no_whole_material_is_said_and_not_offered(row, why):
    made = stock(f"material\n{row}\n")
    assert not made.materials
    assert any("stock.csv:2" in text and why in text and "not offered" in text for text in made.said)


def test_a_finish_of_the_stock_stands_alone_too():
    made = stock('material,species,finish,upkeep\n,,"paint, 3 coats with primer",7\nipe,,none,\n')
    assert made.finishes == [{"finish": "paint, 3 coats with primer", "upkeep": "7"}, {"finish": "none"}]
    assert [row["species"] for row in made.materials] == ["ipe"]


def test_stock_names_are_not_needed_and_not_read_as_parts():
    made = stock("item,species,moisture\nA1,white oak,12\nA1,white oak,kiln-dried\n")
    assert [row["material"] for row in made.materials] == ["white oak"] * 2
    assert any("moisture" in text for text in made.said)


def test_stock_errors_are_located():
    with pytest.raises(InputError) as caught:
        stock("material,moisture\noak,wet\noak,-4\noak,lots\n")
    assert [(problem.line, problem.column) for problem in caught.value.problems] == [(3, "moisture"), (4, "moisture")]
    with pytest.raises(InputError, match="material or species"):
        stock("wot,else\noak,wet\n")


def test_prices_and_stock_of_the_project_file_stand_beside_it_and_the_call_wins(tmp_path):
    (tmp_path / "parts.csv").write_text("part,material\npost,white oak\n")
    (tmp_path / "a.csv").write_text(HEAD + "white oak,board foot,4,USD\n")
    (tmp_path / "b.csv").write_text(HEAD + "white oak,board foot,4,EUR\n")
    (tmp_path / "stock.csv").write_text("material\nwhite oak\n")
    (tmp_path / "project.yaml").write_text("parts: parts.csv\nprices: a.csv\nstock: stock.csv\n")
    made = read(tmp_path / "project.yaml")
    assert (made.prices.currency, len(made.stock.materials)) == ("USD", 1)
    assert read(tmp_path / "project.yaml", prices=str(tmp_path / "b.csv")).prices.currency == "EUR"
    with pytest.raises(InputError, match=r"gone\.csv"):
        read(tmp_path / "project.yaml", prices=str(tmp_path / "gone.csv"))


@pytest.mark.parametrize("demo", ["faulty", "sound"])
def test_the_demo_is_priced_and_says_that_its_prices_are_invented(demo):
    folder = KNOWN.folder / "demo" / demo
    assert "Invented" in (folder / "prices.csv").read_text().splitlines()[0]
    made = read(folder / "project.yaml")
    assert not made.prices.said
    bills = part_costs(derive(made).parts, made.prices, made.scheme, KNOWN)
    unpriced = made.parts["part"][bills["first"].isna()].tolist()
    assert unpriced == ([] if demo == "sound" else ["gate stop", "bed side"])


def test_every_material_that_the_demo_may_be_offered_has_a_price():
    made = read(KNOWN.folder / "demo" / "sound" / "project.yaml")
    table = pd.DataFrame(KNOWN.table("material_choices").records())
    wanted = table[table["scheme"].isin(["us", "both"]) & (table["sort"] == "lumber")]
    from gatepost.reading.choices import choices_frame

    columns = ["material", "species", "wood_part", "treatment", "product"]
    cells = wanted.rename(columns={"choice": "material"})[columns].to_numpy().tolist()
    offers = choices_frame(columns, cells, "parts", US, KNOWN)
    rows = material_prices(offers, made.prices)
    assert wanted["choice"][rows < 0].tolist() == []


def example(kind):
    """A marked example of docs/projects.md, without its indent."""
    text = (KNOWN.folder.parent / "docs" / "projects.md").read_text(encoding="utf-8")
    inner = text.split(f"<!-- {kind} -->\n")[1].split("<!-- end -->")[0]
    return "\n".join(line.removeprefix("    ") for line in inner.splitlines()) + "\n"


def test_the_examples_of_the_docs_read_without_a_word_left_over():
    made = read_prices(csv_rows(example("prices").encode(), "prices.csv"), KNOWN, US)
    assert len(made.items) == 7
    assert made.said == ()
    shelf = stock(example("stock"))
    assert len(shelf.materials) == 3
    assert shelf.said == ()
