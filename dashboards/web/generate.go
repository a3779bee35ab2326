package web

// The script and the style sheet are built from assets/ with npm's own
// packages; dist/ is embedded. Without this step the program still builds,
// and its pages say what to run.

//go:generate npm --prefix assets ci --ignore-scripts --no-audit --no-fund
//go:generate npm --prefix assets run --silent build
