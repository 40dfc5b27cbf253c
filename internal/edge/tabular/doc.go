// Package tabular reads tables of any layout — a meter's log, a spreadsheet saved as text, readings typed
// by hand — into typed columns: encoding, delimiter, decimal mark, units, header words and dates are found
// out from the file as a whole, never row by row.
//
// What cannot be read is listed with its line and column, and what can be read in two ways is listed with
// both and left unread: a date of which day and month could change places, 1.200 in a file that also
// writes 1,2, a temperature without its unit. Options settle them.
//
// Left out: spreadsheet files in binary, fixed columns by position, more than one table in a file.
package tabular
