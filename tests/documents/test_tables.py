"""Tables of the annex: which of them share a line, and what each column is to the stylesheet."""

from __future__ import annotations

from rebuildreport.documents.report.table_data import PrintedTable, TableRow, grouped

JUDGED, BARE = True, False


def table(columns: int, judged: bool, rows: int = 3, cell: str = "0.12") -> PrintedTable:
    row = TableRow("M1", (cell,) * columns, (), None, "")
    return PrintedTable("t", "t", "", ("gap",) * columns, (), (row,) * rows, (), False, judged)


def test_a_line_holds_as_many_tables_as_their_columns_leave_room_for() -> None:
    assert [table(many, JUDGED).across for many in (1, 2, 3, 4)] == [3, 2, 2, 1]
    assert [table(many, BARE).across for many in (3, 4, 5, 6)] == [3, 2, 2, 1]
    # repeats of one place stand in its cell one after the other
    assert table(1, JUDGED, cell="0.12/0.13/0.12").across == 2
    assert table(1, JUDGED, rows=15).across == 1  # too long to stay on a page


def test_tables_stay_in_their_order() -> None:
    made = [table(1, JUDGED), table(1, JUDGED), table(1, JUDGED), table(9, BARE), table(3, JUDGED)]
    lines = grouped(made)
    assert [len(line.tables) for line in lines] == [3, 1, 1]
    assert [one for line in lines for one in line.tables] == made
    assert [line.across for line in lines] == [3, 1, 2]  # alone it keeps to half a line


def test_each_column_has_its_class() -> None:
    assert table(2, JUDGED).columns == ("place", "one", "one", "ver")
    assert table(1, BARE, cell="0.12–0.14").columns == ("place", "several")
