// Package intake reads comma-separated files into checked records and writes
// records out to such files. It knows the columns of each kind of file and the
// rules of a cell; what is kept already is handed to it, and it keeps nothing.
//
// # Files
//
// Files follow RFC 4180: a header line, then a record a line, quotes around a
// cell that holds a separator, a quote or a line break. Text is UTF-8, with or
// without a byte order mark. Cells are separated by commas, or all by
// semicolons, which the header line shows. Lines end in LF or CRLF. Wholly
// empty lines are passed over. A file may have MaxRows rows, MaxFile bytes,
// MaxField bytes in a cell.
//
// Columns may stand in any order and be left out, but for those that name the
// row. A quantity's column carries its unit in its name (area_ft2, area_m2); a
// file has one of the alternatives.
//
// # Cells
//
// An empty cell makes no change: unknown in a new row, and in a row that is kept
// already what is kept stays. A single "-" empties a field on purpose.
//
// Days are year-month-day (ISO 8601) and never guessed; a day that is not known
// well is written 2014-06, 2014 or about 2014 where the column allows it. Yes
// and no are written so. Numbers have a decimal point; a decimal comma is taken
// only in a file with semicolons, and refused where it could separate
// thousands. A list has "|" between its items, and "\|" for a bar within one.
//
// A text that a spreadsheet would run as a formula is written with an
// apostrophe before it (after OWASP, "CSV injection": a cell that starts with
// = + - @, a tab or a carriage return, also behind blanks and quotes), and read
// back without it. Numbers stay numbers.
//
// # Reading
//
// A Sheet is a kind of file. It gives Rows over a reader; each Line has its
// number, its cells and what was refused. Apply puts the cells that differ from
// a kept record into it, and tells what changed, so that a file which is read
// twice changes nothing, and one that was written from the records and is read
// back changes nothing either: cells compare as they would be written.
package intake
