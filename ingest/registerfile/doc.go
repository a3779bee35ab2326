// Package registerfile reads and writes registers as files that people keep in
// a spreadsheet or a repository: vehicles, gear and rigs as CSV or JSON. What
// it writes it reads back the same. It refuses what it does not fully
// understand, with the line and the column or the place. It knows no store.
//
// # JSON
//
// One object with the lists vehicles, items and rigs, each of which may be left
// out. The keys of vehicles, items and rigs are those of rig files (package
// rig); register.schema.json beside this file describes them as JSON Schema
// 2020-12.
//
// # CSV
//
// One table of vehicles, of items or of rigs, one row each. The columns are
// called as the keys in JSON, in any order, and those that are not needed may
// be left out. An empty cell is a key that is left out. The ratings of an item
// have columns of their own, rating_1_value, rating_1_basis and so on, with
// rating_2_… for a second one. What has parts of its own (mounting, inspections,
// retire_rule, the chain of a rig …) stands in its cell as JSON. A text that CSV
// would not keep as it is, because blanks stand around it or it begins with a
// quote, stands there as a JSON string.
package registerfile
