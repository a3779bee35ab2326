// Package tracefile reads force traces from CSV files: one line a sample, a
// time and a force among its columns, any length, in bounded memory and on
// every core.
//
// What it takes:
//
//   - A header line with the names of the columns, quoted or not. Before it
//     there may be a byte order mark, blank lines and comment lines that
//     begin with "#"; behind it comments are refused and blank lines skipped.
//   - Comma, semicolon or tab between columns, found by looking at the header.
//   - A time column t_s, time_s or time, in seconds or as RFC 3339, or the one
//     that Options name. Times rise strictly. Seconds are rounded to the
//     nearest nanosecond, exactly from the digits.
//   - A force column force_N, force_kN, force_kgf, force_lbf or force_t, or
//     the one that Options name together with a unit.
//   - A column called mark, if there is one, with what the instrument said of
//     a reading: overload, invalid, lost. Other columns are passed over.
//   - Plain decimal numbers, with exponent or without; a decimal comma on
//     request. A number may be quoted and have blanks around it.
//   - gzip and zstd, known by their first bytes, and standard input.
//
// Everything else is refused with one Error that says what is wrong, in which
// line, and what to do. Nothing is guessed, repaired or left out.
//
// It does not find pulls and knows nothing of the store or of raw readings.
package tracefile
