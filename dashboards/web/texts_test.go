package web

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// words are two words at least, and so a text for people.
var words = regexp.MustCompile(`[A-Za-z’]{2,},? [A-Za-z]`)

// typedWords are what people type and the program reads: they are the same in
// every language until their parsers are not.
var typedWords = map[string]bool{
	"straight only": true, "up to 30deg": true, "full turn of the front wheels": true, "any direction": true, "side load steps": true,
	"full turn of the wheels": true, "in order": true, "firm gravel": true, "wet sand": true,
}

// logged are what the program says to its log, which is not of the pages.
var logged = map[string]bool{
	"page failed": true, "page panicked": true, "signed in": true, "private, max-age=31536000, immutable": true, // an HTTP header
	"in the background for the pages": true, "readings were not sent whole": true, "left out of a file, as a gap": true,
	"everything is being saved in one file": true, "everything was being saved in one file for a browser, and it was not taken to its end": true,
	"a saved file was made a store": true,
}

// TestTextsStandInOnePlace reads the sources of the pages: what is said to
// people stands in the files of texts or in the templates, and nowhere between.
// Errors that start with the name of the package are for programmers.
func TestTextsStandInOnePlace(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	read := 0
	for _, file := range files {
		if strings.HasPrefix(file, "texts") || strings.HasSuffix(file, "_test.go") {
			continue
		}
		set := token.NewFileSet()
		tree, err := parser.ParseFile(set, file, nil, 0)
		require.NoError(t, err)
		read++
		ast.Inspect(tree, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.ImportSpec:
				return false
			case *ast.Field:
				n.Tag = nil
			case *ast.ValueSpec:
				for _, name := range n.Names {
					if strings.HasPrefix(name.Name, "err") { // told within the program only
						return false
					}
				}
			case *ast.CallExpr:
				if isText(n) || forProgrammers(n) {
					return false
				}
			case *ast.BasicLit:
				said, err := strconv.Unquote(n.Value)
				if n.Kind == token.STRING && err == nil && words.MatchString(said) && !typedWords[said] && !logged[said] && !strings.HasPrefix(said, "web: ") {
					assert.Fail(t, "a text outside of the texts", "%s: %s belongs into a file of texts", set.Position(n.Pos()), n.Value)
				}
			}
			return true
		})
	}
	assert.Greater(t, read, 50)
}

// isText says whether a call is of text with nothing but names and numbers.
func isText(n *ast.CallExpr) bool {
	f, ok := n.Fun.(*ast.Ident)
	return ok && f.Name == "text" && len(n.Args) == 1
}

// forProgrammers says whether a call is one of a panic, an error that a text is
// put around, or a pattern.
func forProgrammers(n *ast.CallExpr) bool {
	switch f := n.Fun.(type) {
	case *ast.Ident:
		return f.Name == "panic"
	case *ast.SelectorExpr:
		x, ok := f.X.(*ast.Ident)
		return ok && (x.Name == "regexp" || x.Name == "time" || x.Name+f.Sel.Name == "fmtErrorf" || f.Sel.Name == "Format")
	}
	return false
}

// TestEveryTextIsUsed finds texts that no page says any more.
func TestEveryTextIsUsed(t *testing.T) {
	t.Parallel()
	var all strings.Builder
	for _, pattern := range []string{"*.go", "pages/*.html"} {
		files, err := filepath.Glob(pattern)
		require.NoError(t, err)
		for _, file := range files {
			if strings.HasPrefix(file, "texts") || strings.HasSuffix(file, "_test.go") {
				continue
			}
			all.WriteString(source(t, file))
		}
	}
	for name := range english {
		if strings.Contains(all.String(), strconv.Quote(name)) {
			continue
		}
		at := strings.LastIndexByte(name, '.') // names that are put together end in what varies
		assert.True(t, at > 0 && regexp.MustCompile(`"`+regexp.QuoteMeta(name[:at])+`[a-z.]*"`).MatchString(all.String()), "nothing says %q", name)
	}
}

func source(t *testing.T, file string) string {
	t.Helper()
	b, err := os.ReadFile(file)
	require.NoError(t, err)
	return string(b)
}
