"""What stage 2 must find: tables, their headers and sections, the owner's statistics, stacks of
sheets.
"""

import re
from collections import Counter

import numpy as np
import pytest
from openpyxl.utils.cell import range_boundaries
from scipy import ndimage

from reportgen.importing.model.cells import Kind, Sheet
from reportgen.importing.model.layouts import (
    Carrier,
    CarrierKind,
    Dimension,
    Layout,
    Source,
    Values,
)
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Found, Statistic, Table
from reportgen.importing.tables import find, find_again
from reportgen.importing.tables.pieces import pieces_of

NUMBER = re.compile(r"-?\d+(\.\d+)?")
DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


def kind_of(cell: str) -> Kind:
    if NUMBER.fullmatch(cell):
        return Kind.NUMBER
    if DAY.fullmatch(cell):
        return Kind.MOMENT
    if cell == "dead":
        return Kind.LOST
    return Kind.TEXT if cell else Kind.BLANK


def sheet(
    grid: str, name: str = "Log", merged: str = "", struck: str = "", is_hidden: bool = False
) -> Sheet:
    """Return a sheet of lines of cells with `|` between; `dead` is a word for lost."""
    lines = [[cell.strip() for cell in line.split("|")] for line in grid.strip("\n").split("\n")]
    shape = (len(lines), max(len(line) for line in lines))
    kind = np.zeros(shape, np.uint8)
    text = np.full(shape, "", object)
    number = np.full(shape, np.nan)
    moment = np.full(shape, np.datetime64("NaT"), "datetime64[s]")
    for row, line in enumerate(lines):
        for column, cell in enumerate(line):
            text[row, column] = cell
            kind[row, column] = kind_of(cell)
            if kind[row, column] == Kind.NUMBER:
                number[row, column] = float(cell)
            if kind[row, column] == Kind.MOMENT:
                moment[row, column] = np.datetime64(cell)
    ranges = []
    for cells in merged.split():
        left, top, right, bottom = range_boundaries(cells)
        ranges.append((top, left, bottom, right))
    places = set()
    for cell in struck.split():
        left, top, _, _ = range_boundaries(cell)
        places.add((top, left))
    return Sheet(
        "",
        name,
        kind,
        text,
        number,
        moment,
        merged=tuple(ranges),
        struck=frozenset(places),
        is_hidden=is_hidden,
    )


def only_table(grid: str, **how: str) -> Table:
    found = find((sheet(grid, **how),))
    assert len(found.tables) == 1, [table.key for table in found.tables]
    return found.tables[0]


def names(table: Table) -> list[str]:
    return [column.name for column in table.columns]


def texts(table: Table) -> list[list[str]]:
    return [[str(cell) for cell in row] for row in table.text]


def test_a_header_is_the_row_of_texts_above_numbers_and_titles_stand_above_it() -> None:
    table = only_table("""
Winter lettuce
two tubs

Head|Tub|Airstone|Weight (g)|remarks
1|A|yes|160|
2|A|yes|162|big
3|B|no|121|
""")
    assert table.key == "Log"
    assert names(table) == ["Head", "Tub", "Airstone", "Weight", "remarks"]
    assert table.columns[3].unit == "g"
    assert table.blocks[0].header_rows == (4,)
    assert [title for title, _ in table.blocks[0].titles] == ["two tubs", "Winter lettuce"]
    assert list(table.row) == [5, 6, 7]


@pytest.mark.parametrize("units", ["||(g)|(cm)", "|| g | cm", "|| [g] | [cm]"])
def test_a_row_of_units_below_the_header_is_no_data(units: str) -> None:
    table = only_table(f"""
Tray|Plant|FW|Height
{units}
1|1|20.1|10
1|2|21.3|11
""")
    assert [column.unit for column in table.columns] == ["", "", "g", "cm"]
    assert table.blocks[0].header_rows == (1,)
    assert table.blocks[0].unit_row == 2
    assert len(table.row) == 2


@pytest.mark.parametrize("numbers", ["1|2|3", "10|14|18", "2026-05-01|2026-05-08|2026-05-15"])
def test_numbers_and_dates_can_head_columns(numbers: str) -> None:
    table = only_table(f"""
Treatment|Tray|{numbers}
warm|1|20.1|21.5|19.8
warm|2|20.3|22.5|18.8
cool|1|10.1|11.5|12.8
cool|2|10.2|11.6|12.9
""")
    assert [column.header for column in table.columns[2:]] == numbers.split("|")
    assert len(table.row) == 4
    assert table.blocks[0].header_rows == (1,)


def test_counted_plants_head_columns_beside_a_column_of_texts() -> None:
    table = only_table("""
Tray|1|2|3
fan a|20.1|21.5|19.8
fan b|20.3|22.5|18.8
""")
    assert names(table) == ["Tray", "1", "2", "3"]
    assert len(table.row) == 2


def test_treatments_stand_over_tray_numbers_blank_to_the_right() -> None:
    table = only_table("""
Plant|fan|||still||
     |1|2|3|1|2|3
1|20.1|21.1|22.1|10.1|11.1|12.1
2|20.4|21.4|22.4|10.4|11.4|12.4
""")
    assert table.blocks[0].header_rows == (1, 2)
    assert [column.over for column in table.columns[1:]] == [
        ("fan", "1"),
        ("fan", "2"),
        ("fan", "3"),
        ("still", "1"),
        ("still", "2"),
        ("still", "3"),
    ]
    assert table.columns[0].name == "Plant"
    assert len(table.row) == 2


@pytest.mark.parametrize("lowest", ["Plant|Tray 1|Tray 2|Tray 1|Tray 2|note", "Plant|1|2|1|2|note"])
def test_merged_treatments_stand_over_trays_and_end_where_the_merged_cells_end(lowest: str) -> None:
    table = only_table(
        f"""
|fan||still||
{lowest}
1|20.1|21.1|10.1|11.1|
2|20.4|21.4|10.4|11.4|small
3|20.5|21.9|10.6|11.8|
""",
        merged="B1:C1 D1:E1",
    )
    assert [column.over[0] for column in table.columns] == ["", "fan", "fan", "still", "still", ""]
    assert table.blocks[0].header_rows == (1, 2)


def test_the_last_blank_right_label_reaches_as_far_as_the_others() -> None:
    table = only_table("""
|fan||still||
Plant|Tray 1|Tray 2|Tray 1|Tray 2|note
1|20.1|21.1|10.1|11.1|
2|20.4|21.4|10.4|11.4|small
""")
    assert [column.over[0] for column in table.columns] == ["", "fan", "fan", "still", "still", ""]


def test_a_lone_label_above_rows_alike_is_their_section() -> None:
    table = only_table("""
Tray|Plant|Weight (g)
warm
1|1|20
1|2|21
cool
1|1|30
1|2|31
weighed on Monday
""")
    assert list(table.section) == ["warm", "warm", "cool", "cool"]
    assert list(table.row) == [3, 4, 6, 7]
    assert (0, 8, "note") in table.left_out


def test_sections_may_stand_between_blank_rows() -> None:
    table = only_table("""
Tray|Plant|Weight (g)

warm

1|1|20
1|2|21

cool

1|1|30
1|2|31
""")
    assert list(table.section) == ["warm", "warm", "cool", "cool"]


def test_a_lone_label_over_a_blank_column_labels_the_rows_below_it() -> None:
    table = only_table("""
Treatment|Plant|Weight (g)
warm||
|1|20
|2|21
cool||
|1|30
|2|31
""")
    assert set(table.section) == {""}
    assert [row[0] for row in texts(table)] == ["warm", "", "cool", ""]
    assert len(table.row) == 4


def test_a_labelled_cell_above_a_table_is_a_field() -> None:
    table = only_table("""
Crop|basil||
Treatment: fan

Tray|Plant|Weight (g)|note
1|1|20|
1|2|21|
""")
    assert dict(table.blocks[0].fields) == {"Treatment": "fan", "Crop": "basil"}


def test_equal_headers_side_by_side_and_below_are_one_table_with_titles() -> None:
    table = only_table("""
WITH CO2||||NO CO2||
bucket|fruit|weight g||bucket|fruit|weight g
1|17|775||11|14|648
2|19|885||12|16|723
||||13|17|787

LOW CO2
bucket|fruit|weight g
21|15|700
22|18|734
""")
    assert [block.titles[0][0] for block in table.blocks] == ["WITH CO2", "NO CO2", "LOW CO2"]
    assert [str(text) for text in table.text[:, 0]] == ["1", "2", "11", "12", "13", "21", "22"]


def test_tables_side_by_side_need_no_column_between() -> None:
    table = only_table("""
warm||cool|
Plant|Weight|Plant|Weight
1|20.5|1|10.5
2|21.5|2|11.5
3|22.5||
""")
    assert [block.titles[0][0] for block in table.blocks] == ["warm", "cool"]
    assert [block.letters for block in table.blocks] == [(1, 2), (3, 4)]
    assert len(table.row) == 5


def test_headers_repeated_under_titles_begin_blocks_without_a_blank_row() -> None:
    table = only_table("""
warm
Tray|Plant|Weight
1|1|20
1|2|21
cool
Tray|Plant|Weight
1|1|30
1|2|31
""")
    assert [block.titles[0][0] for block in table.blocks] == ["warm", "cool"]
    assert list(table.block) == [0, 0, 1, 1]


def test_a_header_repeated_for_print_is_left_out() -> None:
    table = only_table("""
Tray|Plant|Weight
1|1|20
1|2|21
Tray|Plant|Weight
2|1|30
2|2|31
""")
    assert len(table.blocks) == 1
    assert len(table.row) == 4
    assert (0, 4, "repeated header") in table.left_out


def test_a_blank_row_put_in_for_looks_does_not_part_a_table() -> None:
    table = only_table("""
Tray|Plant|Weight
1|1|20
1|2|21

2|1|30
2|2|31


3|1|30
3|2|31
""")
    assert len(table.blocks) == 1
    assert len(table.row) == 6


def test_a_blank_column_put_in_for_looks_does_not_part_a_table() -> None:
    table = only_table("""
Tray|Plant||Weight (g)
1|1||20
1|2||21
2|1||30
2|2||31
""")
    assert [name for name in names(table) if not name.startswith("column")] == [
        "Tray",
        "Plant",
        "Weight",
    ]


def test_another_table_below_a_blank_row_stays_its_own() -> None:
    found = find(
        (
            sheet("""
Tray|Treatment|Weight (g)
1|fan|20.5
2|still|21.5

Date|Tray|Litres
2026-05-01|1|4
2026-05-02|2|5
"""),
        )
    )
    assert [table.key for table in found.tables] == ["Log!A1:C3", "Log!A5:C7"]


@pytest.mark.parametrize(
    ("label", "statistic"),
    [
        ("Total", Statistic.SUM),
        ("Totaal rij 1", Statistic.SUM),
        ("Summe", Statistic.SUM),
        ("Total général", Statistic.SUM),
        ("Ø", Statistic.MEAN),
        ("Mittelwert", Statistic.MEAN),
        ("promedio", Statistic.MEAN),
        ("avg.", Statistic.MEAN),
        ("écart-type", Statistic.SPREAD),
        ("max", Statistic.OTHER),
    ],
)
def test_a_labelled_row_that_equals_a_statistic_is_taken_out_and_agrees(
    label: str, statistic: Statistic
) -> None:
    values = np.array([20.0, 21.0, 25.0])
    results = {
        Statistic.SUM: values.sum(),
        Statistic.MEAN: values.mean(),
        Statistic.SPREAD: values.std(ddof=1),
        Statistic.OTHER: values.max(),
    }
    table = only_table(f"""
Tray|Plant|Weight (g)
1|1|20
1|2|21
1|3|25
{label}||{results[statistic]:.2f}
""")
    assert len(table.row) == 3
    (computed,) = table.computed
    assert computed.agrees
    assert computed.statistic is statistic
    assert computed.cells == ((0, 5, 3),)
    assert set(computed.of) == {(0, 2, 3), (0, 3, 3), (0, 4, 3)}


def test_a_labelled_total_that_is_wrong_is_taken_out_and_does_not_agree() -> None:
    table = only_table("""
Tray|Plant|Weight (g)
1|1|20
1|2|21
1|3|25
Total||67
""")
    (computed,) = table.computed
    assert not computed.agrees
    assert len(table.row) == 3


def test_means_under_each_tray_and_the_total_of_all_are_statistics() -> None:
    table = only_table("""
Tray|Plant|Weight (g)
1|1|20
|2|22
|Mean|21
2|1|30
|2|33
|Mean|31.5
Total||105
""")
    assert [computed.statistic for computed in table.computed] == [
        Statistic.MEAN,
        Statistic.MEAN,
        Statistic.SUM,
    ]
    assert all(computed.agrees for computed in table.computed)
    assert list(table.row) == [2, 3, 5, 6]


def test_a_row_without_labels_that_equals_the_sum_is_a_statistic() -> None:
    table = only_table("""
Tray|Plant|Weight (g)|Height (cm)
1|1|20.5|10
1|2|21.5|12
1|3|25.5|13
||67.5|35
""")
    assert len(table.row) == 3
    assert table.computed[0].agrees


def test_a_plant_that_weighs_the_mean_of_those_above_stays_a_plant() -> None:
    table = only_table("""
Tray|Plant|Weight (g)
1|1|20
1|2|22
1|3|21
1|4|63
""")
    assert len(table.row) == 4
    assert table.computed == ()


def test_a_blank_below_tray_label_does_not_make_a_row_a_statistic() -> None:
    table = only_table("""
Tray|Plant|Weight (g)
A|1|20
|2|22
|3|21
B|1|31
|2|33
|3|32
""")
    assert len(table.row) == 6


def test_a_treatment_whose_name_begins_like_a_statistic_stays_data() -> None:
    table = only_table("""
Treatment|Plant|Weight (g)
max light|1|20.5
max light|2|22.5
low light|1|11.5
low light|2|13.5
""")
    assert len(table.row) == 4


def test_a_column_that_is_the_sum_of_others_stays_and_is_marked() -> None:
    table = only_table("""
Bed|Type|Cut 1 (g)|Cut 2 (g)|Cut 3 (g)|Total (g)
1|a|90|169|135|394
2|b|103|162|118|383
3|a|155||149|304
Total||348|331|402|1081
""")
    columns = [computed for computed in table.computed if computed.column >= 0]
    (total,) = columns
    assert total.column == 5
    assert total.of_columns == (2, 3, 4)
    assert total.agrees
    assert names(table)[5] == "Total"
    rows = [computed for computed in table.computed if computed.column < 0]
    assert all(computed.agrees for computed in rows)
    assert sum(len(computed.cells) for computed in rows) == 4


def test_a_total_column_with_one_wrong_sum_tells_the_wrong_cell() -> None:
    table = only_table("""
Bed|Type|Cut 1|Cut 2|Total
1|a|90|169|259
2|b|103|162|265
3|a|155|100|256
4|b|140|110|250
""")
    (wrong_cells,) = [computed for computed in table.computed if not computed.agrees]
    assert wrong_cells.cells == ((0, 4, 5),)


def test_gross_less_tare_is_a_difference() -> None:
    table = only_table("""
Tray|Gross g|Tare g|Net g
1|310.5|50.5|260
2|322.5|51.5|271
3|299.5|50|249.5
""")
    (net,) = table.computed
    assert net.statistic is Statistic.DIFFERENCE
    assert net.of_columns == (1, 2)
    assert net.column == 3


def test_struck_rows_are_left_out() -> None:
    table = only_table(
        """
Tray|Plant|Weight (g)
1|1|20
1|2|221
1|3|21
""",
        struck="A3 B3 C3",
    )
    assert table.left_out == ((0, 3, "struck"),)
    assert len(table.row) == 2


def test_sheets_with_equal_headers_are_stacked_in_any_order_of_columns() -> None:
    found = find(
        (
            sheet("Tray|Plant|Weight (g)\n1|1|20\n1|2|21", name="fan"),
            sheet("Plant|Tray|Weight (g)||\n1|2|30|left side\n2|2|31|", name="still"),
        )
    )
    (table,) = found.tables
    assert table.key == "fan"
    assert [block.sheet for block in table.blocks] == [0, 1]
    assert texts(table)[2][:3] == ["2", "1", "30"]
    assert table.blocks[1].letters[:3] == (2, 1, 3)


def test_a_hidden_sheet_is_not_stacked_with_visible_ones() -> None:
    grid = "Tray|Plant|Weight (g)\n1|1|20\n1|2|21"
    found = find((sheet(grid, name="2026"), sheet(grid, name="2025", is_hidden=True)))
    assert [table.key for table in found.tables] == ["2026", "2025"]


def test_a_small_table_of_codes_is_a_key() -> None:
    found = find(
        (
            sheet("ID|Weight (g)\nK1-1|20.5\nK1-2|21.5\nC1-1|30.5\nC1-2|33.5", name="Log"),
            sheet("Code|Treatment\nK|compost\nC|control", name="Key"),
        )
    )
    assert [table.is_key for table in found.tables] == [False, True]
    assert texts(found.tables[1])[-2:] == [["K", "compost"], ["C", "control"]]


def test_labels_beside_values_of_several_kinds_are_fields() -> None:
    found = find(
        (
            sheet("Crop|basil\nStarted|2026-03-01\nHarvested|2026-04-14\nPlants|12", name="About"),
            sheet("Tray|Plant|Weight (g)\n1|1|20\n1|2|21", name="Log"),
        )
    )
    assert [table.is_fields for table in found.tables] == [True, False]


def test_notes_beside_a_table_are_loose_numbers() -> None:
    found = find(
        (
            sheet("""
Group|Number|Weight||
L1|1|2.85|305.55|Weight of pot with soil in g
L1|2|3.06|500.95|weight of pot with soil and water
L1|3|1.33||
L2|1|4.3||
L2|2|3.1||
L2|3|2.1||
"""),
        )
    )
    (table,) = found.tables
    assert names(table) == ["Group", "Number", "Weight"]
    assert [loose.cells for loose in found.loose] == [((2, 4), (3, 4))]


def test_a_table_without_a_header_keeps_all_its_rows() -> None:
    table = only_table("""
fan|1|20.5
fan|2|21.5
still|1|11.5
still|2|12.5
""")
    assert names(table) == ["column A", "column B", "column C"]
    assert len(table.row) == 4
    assert table.blocks[0].header_rows == ()


def test_a_word_among_numbers_is_data() -> None:
    table = only_table("""
Treatment|Tray|Weight
warm|A|20.5
warm|B|dropped
cool|A|30.5
cool|B|dead
""")
    assert len(table.row) == 4
    assert len(table.blocks) == 1


def test_equal_header_texts_are_numbered_within_a_table() -> None:
    table = only_table("""
Tray|wt|wt|wt
1|20.5|21.5|22.5
2|20.6|21.6|22.8
""")
    assert names(table) == ["Tray", "wt (1 of 3)", "wt (2 of 3)", "wt (3 of 3)"]


def places_in_body(table: Table) -> list[tuple[int, int, int]]:
    places = []
    for row, column in np.argwhere(table.kind == Kind.NUMBER):
        block = table.blocks[table.block[row]]
        places.append((block.sheet, int(table.row[row]), block.letters[column]))
    return places


def every_number(found: Found) -> Counter[tuple[int, int, int]]:
    """Return how many times each cell with a number stands in the body, in statistics, or outside
    tables.
    """
    counts: Counter[tuple[int, int, int]] = Counter()
    for table in found.tables:
        counts.update(places_in_body(table))
        for computed in table.computed:
            if computed.column < 0:
                counts.update(computed.cells)
    for loose in found.loose:
        counts.update((loose.sheet, row, column) for row, column in loose.cells)
    return counts


def test_no_number_is_lost_or_stands_twice() -> None:
    sheets = (
        sheet("""
Trial 7
Tray|Plant|Weight (g)|Height||305.5|pot
warm||||||
1|1|20.5|10|||
1|2|21.5|11|||
Mean||21|10.5|||
cool||||||
2|1|30.5|14|||
2|2|31.5|15|||
Mean||31|14.5|||

Total||104|50

Meter|kWh
A|12.5
B|13.5
"""),
    )
    counts = every_number(find(sheets))
    numbers = {
        (0, int(row) + 1, int(column) + 1)
        for row, column in np.argwhere(sheets[0].kind == Kind.NUMBER)
    }
    assert set(counts) == numbers
    assert set(counts.values()) == {1}


def test_the_layout_of_a_settings_file_finds_its_table_again_after_rows_were_added() -> None:
    first = """
Tray|Treatment|Weight (g)
1|fan|20.5
2|still|21.5

Date|Tray|Litres
2026-05-01|1|4
2026-05-02|2|5
"""
    later = """
new title

Tray|Treatment|Weight (g)
1|fan|20.5
2|still|21.5
3|fan|22.5

Date|Tray|Litres
2026-05-01|1|4
2026-05-02|2|5
"""
    layouts = []
    for table in find((sheet(first),)).tables:
        column = table.columns[2].name
        layouts.append(
            Layout(
                table.key,
                "Plants",
                sheets=("Log",),
                header_rows=table.blocks[0].header_rows,
                dimensions={Dimension.UNIT: Source((Carrier(CarrierKind.COLUMN, "Tray"),))},
                values=(Values(column, (column,)),),
            )
        )
    again = find_again(find((sheet(later),)), (sheet(later),), Settings(layouts=tuple(layouts)))
    assert [table.key for table in again.tables] == [layout.table for layout in layouts]
    assert len(again.tables[0].row) == 3


def test_a_treatment_called_like_a_statistic_is_data() -> None:
    table = only_table("""
Treatment|Bed|lb|oz
raft|1|2|8.5
raft|2|3|0
media|3|2|8.5
media|4|1|9
""")
    assert len(table.row) == 4


def test_words_in_place_of_all_numbers_of_a_row_are_data() -> None:
    table = only_table("""
ID|Fresh (g)|Dry (g)
AT1-1|20.5|2.5
AT1-2|x|x
AT1-3|21.5|2.7
AT2-1|x|x
AT2-2|22.5|2.8
""")
    assert len(table.row) == 5


def test_every_blank_row_may_stand_for_looks_where_trays_are_labelled_once() -> None:
    table = only_table("""
warm
Plot|No|Weight
1|1|20.5
|2|21.5
|3|22.5

2|1|20.7
|2|21.7

3|1|20.9
|2|21.9
""")
    assert len(table.row) == 7


@pytest.mark.parametrize(
    ("header", "name", "unit"),
    [
        ("Weight (g)", "Weight", "g"),
        ("Weight [kg]", "Weight", "kg"),
        ("FW, g", "FW", "g"),
        ("FW in g", "FW", "g"),
        ("Total weight kg", "Total weight", "kg"),
        ("NO3 mg/kg", "NO3", "mg/kg"),
        ("Weight / g", "Weight", "g"),
        ("kg", "kg", "kg"),
        ("Temp C", "Temp", "C"),
        ("Tray C", "Tray C", ""),
        ("No", "No", ""),
        ("pH", "pH", ""),
        ("Fresh (g) day 3", "Fresh day 3", "g"),
    ],
)
def test_a_unit_in_a_header_is_told_from_its_name(header: str, name: str, unit: str) -> None:
    table = only_table(f"""
Tray|Plant|{header}
1|1|20.5
1|2|21.5
""")
    assert (table.columns[2].name, table.columns[2].unit) == (name, unit)


def test_a_row_with_a_blank_weight_is_data_though_its_other_weight_is_that_of_all() -> None:
    table = only_table("""
Tray|Treatment|2026-05-01|2026-05-08|2026-05-15
T1|warm|10||30
T2|warm|11|20|30
T3|cool|12|21|30
T4|cool|13|22|30
""")
    assert len(table.row) == 4


def test_a_row_is_struck_where_most_of_it_is() -> None:
    table = only_table(
        """
Crop|Tray|Plant|Weight (g)|Dose
pea|1|1|20.5|2
pea||2|221|2
pea|1|3|21.5|2
""",
        struck="C3 D3",
    )
    assert table.left_out == ((0, 3, "struck"),)


def test_dates_that_stand_alone_above_rows_are_sections() -> None:
    table = only_table("""
Treatment|Tray|Weight (g)
2026-05-01||
fan|1|20.5
still|2|21.5
2026-05-08||
fan|1|22.5
still|2|23.5
""")
    assert list(table.section) == ["2026-05-01", "2026-05-01", "2026-05-08", "2026-05-08"]


def test_dates_that_stand_alone_above_blank_cells_are_the_dates_of_the_rows_below() -> None:
    table = only_table("""
Date|Tray|Weight (g)
2026-05-01||
|1|20.5
|2|21.5
2026-05-08||
|1|22.5
|2|23.5
""")
    assert [str(text) for text in table.text[:, 0]] == ["2026-05-01", "", "2026-05-08", ""]
    assert table.moment[2, 0] == np.datetime64("2026-05-08")


def test_days_that_are_still_to_come_are_no_sections() -> None:
    table = only_table("""
Date|Tray|Weight (g)
2026-05-01|1|20.5
2026-05-08|2|21.5
2026-05-15||
2026-05-22||
""")
    assert set(table.section) == {""}


def test_a_key_to_the_right_is_a_table_of_its_own() -> None:
    found = find(
        (
            sheet("""
ID|Weight (g)||Code|Treatment
K1-1|20.5||K|compost
K1-2|21.5||C|control
C1-1|22.5||
C1-2|23.5||
"""),
        )
    )
    assert [table.is_key for table in found.tables] == [False, True]


def test_a_section_may_stand_right_below_a_row_of_units() -> None:
    table = only_table("""
Tray|Plant|Weight
||g
Treatment: A
1|1|20.5
1|2|21.5
Treatment: B
2|1|20.5
2|2|21.5
""")
    assert table.columns[2].unit == "g"
    assert list(table.section) == ["A", "A", "B", "B"]


def test_an_id_without_a_weight_is_data() -> None:
    table = only_table("""
ID|Weight (g)
B1-1|20.5
B1-2|21.5
B1-3|
B2-1|22.5
B2-2|
""")
    assert len(table.row) == 5
    assert set(table.section) == {""}


def test_numbers_of_plants_are_no_differences_of_weights() -> None:
    table = only_table("""
Tray|Fresh (g)|Dry (g)|Plants|Leaves
1|4.2|0.1|4|7
2|1.1|0.2|1|8
3|2.3|0.2|2|9
4|3.2|0.1|3|7
""")
    assert table.computed == ()


@pytest.mark.parametrize("numbers", ["10", "49", "100"])
def test_a_lone_number_above_labels_of_text_is_a_section(numbers: str) -> None:
    table = only_table(f"""
Tray|Weight
{numbers}|
T1|5.5
T2|6.25
14|
T3|7.5
T4|7.75
""")
    assert list(table.section) == [numbers, numbers, "14", "14"]


def test_a_plant_without_a_weight_among_counted_plants_is_no_section() -> None:
    table = only_table("""
Plant|Weight
1|5.5
2|
3|7.5
4|7.75
5|
""")
    assert set(table.section) == {""}
    assert len(table.row) == 5


def test_lone_numbers_apart_from_the_numbers_of_trays_are_sections() -> None:
    table = only_table("""
Tray|Weight
50|
3|5.5
1|6.25
100|
2|7.5
4|7.75
""")
    assert list(table.section) == ["50", "50", "100", "100"]


def test_a_row_whose_weight_alone_is_struck_is_left_out() -> None:
    table = only_table(
        """
tray|heat|plant|weight (g)
5|on|1|221
5|on|2|22.6
6|off|1|20.1
""",
        struck="D2",
    )
    assert table.left_out == ((0, 2, "struck"),)


def test_a_field_right_above_a_header_is_no_table() -> None:
    table = only_table("""
Trial|7
Tray|Weight
1|20.5
2|21.5
""")
    assert dict(table.blocks[0].fields) == {"Trial": "7"}


def test_a_row_of_means_below_its_own_label_is_a_statistic() -> None:
    table = only_table("""
warm|cool
20|15
22|17
25|18
Mean|
22.3|16.7
""")
    assert len(table.row) == 3
    assert [computed.agrees for computed in table.computed] == [True]


def test_a_last_row_behind_a_blank_one_that_equals_the_means_is_a_statistic_without_any_label() -> (
    None
):
    table = only_table("""
warm|cool
20|15
22|17
25|18

22.33|16.67
""")
    assert len(table.row) == 3


def test_a_remark_between_rows_is_no_section() -> None:
    table = only_table("""
Date|Tray|Litres
2026-05-01|1|4
2026-05-02|1|5
pump failed over the weekend||
2026-05-05|1|6
""")
    assert set(table.section) == {""}
    assert table.left_out == ((0, 4, "note"),)


def test_the_title_is_the_section_of_the_first_rows_where_the_next_have_a_lone_label() -> None:
    table = only_table("""
warm
Tray|Plant|Weight
1|1|20.5
1|2|21.5
cool
2|1|10.5
2|2|11.5
""")
    assert list(table.section) == ["warm", "warm", "cool", "cool"]


def test_fresh_and_dry_weights_under_the_same_headers_are_two_tables() -> None:
    found = find(
        (
            sheet("""
Fresh weights
Tray|Plant|Weight (g)
1|1|20.5
1|2|21.5

Dry weights
Tray|Plant|Weight (g)
1|1|2.5
1|2|2.6
"""),
        )
    )
    assert len(found.tables) == 2


def test_fields_with_a_colon_above_a_table_are_its_fields() -> None:
    found = find(
        (
            sheet("""
Crop:|basil
Sown|2025-02-01

Tray|Treatment|Weight (g)
T1|mat|31.5
T2|none|28.9
"""),
        )
    )
    assert [table.is_fields for table in found.tables] == [True, False]
    assert dict(found.tables[1].blocks[0].fields) == {"Crop": "basil", "Sown": "2025-02-01"}


@pytest.mark.parametrize("label", ["%", "relative", "vs cold"])
def test_a_share_below_the_means_is_no_plant(label: str) -> None:
    table = only_table(f"""
Plant|warm|cold
1|20.5|18.5
2|21.5|19.5
Mean|21|19
{label}|110.5|100
""")
    assert list(table.row) == [2, 3]
    assert (0, 5, "below the statistics") in table.left_out


def test_a_lone_number_may_be_the_title_of_a_table_headed_by_numbers() -> None:
    table = only_table("""
1
FW g
Tray|1|2
1|39.5|49.7
2|42.1|39.2

2
FW g
Tray|1|2
5|49.7|48.9
6|57.4|50.8
""")
    assert [[title for title, _ in block.titles] for block in table.blocks] == [
        ["FW g", "1"],
        ["FW g", "2"],
    ]
    assert len(table.row) == 4


def test_blank_columns_within_a_header_of_two_levels_part_nothing() -> None:
    table = only_table("""
||fan||||still|
Plant||T1|T2|||T1|T2
1||20.5|21.5|||10.5|11.5
2||20.6|21.6|||10.6|11.6
3||20.7|21.7|||10.7|11.7
""")
    values = [column.over for column in table.columns if column.header]
    assert values == [("", "Plant"), ("fan", "T1"), ("fan", "T2"), ("still", "T1"), ("still", "T2")]


def test_an_x_for_no_weight_is_no_mean_though_the_dose_beside_it_is_that_of_all() -> None:
    table = only_table("""
ID|Weight|Dose
K1-1|20.5|2.5
K1-2|x|2.5
K2-1|21.5|2.5
K2-2|22.5|2.5
""")
    assert len(table.row) == 4


def test_letters_that_name_columns_are_no_units() -> None:
    table = only_table(
        """
        Bag | Treatment | Weight (g) |     |
            |           | A          | B   | C
        1   | warm      | 908        | 782 | 817
        2   | cool      | 800        | 904 | 831
        3   | warm      | 659        | 703 | 823
        """,
        merged="C1:E1",
    )
    assert [column.over for column in table.columns[2:]] == [
        ("Weight (g)", letter) for letter in "ABC"
    ]


def test_pieces_of_a_sheet_are_those_of_a_reference_library():
    # scipy.ndimage.label with a structure of ones: cells that touch at sides or corners
    random = np.random.default_rng(20260401)
    for _ in range(200):
        filled = random.random(random.integers(1, 12, 2)) < random.random()
        marks, _ = ndimage.label(filled, structure=np.ones((3, 3)))
        bounds = ndimage.find_objects(marks)
        expected = [
            (down.start + 1, across.start + 1, down.stop, across.stop) for down, across in bounds
        ]
        areas = [
            (area.first_row, area.first_column, area.last_row, area.last_column)
            for area in pieces_of(filled)
        ]
        assert sorted(areas) == sorted(expected)
