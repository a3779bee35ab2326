package words

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"text/template/parse"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// root is the top of the sources.
const root = "../.."

// call is where a text is asked for.
type call struct {
	at      string
	name    string // of the text; what it begins with, if the rest is put together
	whole   bool   // name is whole
	args    int
	spread  bool // arguments come as a list, so they cannot be counted
	counted bool // a plural
	format  bool // name is of a text that is put into something else as it stands
}

// TestTextsAreAskedForAsTheyAre reads all sources and templates: every text that
// is asked for is there and gets as many arguments as it takes, and every text
// that is there is asked for.
func TestTextsAreAskedForAsTheyAre(t *testing.T) {
	calls := append(callsInCode(t), callsInTemplates(t)...)
	require.Greater(t, len(calls), 900)
	asked, begun := literals(t)
	for _, c := range calls {
		if !c.whole {
			begun = append(begun, c.name)
			continue
		}
		f, there := english[c.name]
		if !assert.True(t, there, "%s: there is no text %q", c.at, c.name) || c.format {
			continue
		}
		want, err := verbs(f[other])
		require.NoError(t, err, c.name)
		n := len(want)
		if c.counted {
			n-- // the number itself
		}
		assert.Equal(t, len(f) > 1, c.counted, "%s: %q is a plural if and only if it is asked for with a number", c.at, c.name)
		if !c.spread {
			assert.Equal(t, n, c.args, "%s: %q takes %d arguments: %q", c.at, c.name, n, f[other])
		}
	}
	for _, name := range names() {
		if asked[name] {
			continue
		}
		found := false
		for _, b := range begun {
			found = found || strings.Contains(b, ".") && strings.HasPrefix(name, b)
		}
		assert.True(t, found, "nothing says %q", name)
	}
}

// literals are all strings in code and templates, and what strings that are put
// together begin with: names are also handed on in variables.
func literals(t *testing.T) (out map[string]bool, begun []string) {
	out = map[string]bool{}
	sources(t, func(_ string, _ *token.FileSet, f *ast.File) {
		ast.Inspect(f, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.BasicLit:
				if s, err := strconv.Unquote(n.Value); err == nil {
					out[s] = true
				}
			case *ast.BinaryExpr:
				if s, whole := begins(n); !whole && s != "" {
					begun = append(begun, s)
				}
			}
			return true
		})
	})
	templates(t, func(_ string, tree *parse.Tree) {
		walk(tree.Root, func(n parse.Node) {
			if n, ok := n.(*parse.StringNode); ok {
				out[n.Text] = true
			}
		})
	})
	return out, begun
}

// sources calls for each of the project's Go files but the tests.
func sources(t *testing.T, do func(path string, set *token.FileSet, f *ast.File)) {
	t.Helper()
	require.NoError(t, filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "node_modules" || d.Name() == "testdata" || d.Name() == ".git" || d.Name() == ".ci") {
			return filepath.SkipDir
		}
		if !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		set := token.NewFileSet()
		f, err := parser.ParseFile(set, path, nil, 0)
		require.NoError(t, err)
		do(path, set, f)
		return nil
	}))
}

func callsInCode(t *testing.T) []call {
	var out []call
	sources(t, func(path string, set *token.FileSet, f *ast.File) {
		own := f.Name.Name == "words"
		ast.Inspect(f, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.GenDecl:
				// what is said when the program starts is said before a language is chosen
				return n.Tok != token.VAR || !assert.False(t, !own && saysAtStart(n), "%s: a text in a variable of the package is English for ever; make it a function", set.Position(n.Pos()))
			case *ast.KeyValueExpr: // the hint of a field, told with its examples in the unit of the page
				if k, ok := n.Key.(*ast.Ident); ok && k.Name == "HintOf" {
					c := call{at: set.Position(n.Pos()).String(), spread: true}
					c.name, c.whole = begins(n.Value)
					out = append(out, c)
				}
			case *ast.CallExpr:
				if c, ok := asked(n); ok && !own {
					c.at = set.Position(n.Pos()).String()
					out = append(out, c)
				}
			}
			return true
		})
	})
	return out
}

// saysAtStart finds a text asked for by a variable of a package, but not within
// a function that it holds.
func saysAtStart(d *ast.GenDecl) bool {
	found := false
	ast.Inspect(d, func(n ast.Node) bool {
		if _, ok := n.(*ast.FuncLit); ok {
			return false
		}
		if n, ok := n.(*ast.CallExpr); ok {
			if _, is := asked(n); is {
				found = true
			}
		}
		return true
	})
	return found
}

// asked reads a call of Say, Count, Error, or of text, which pages call Say.
func asked(n *ast.CallExpr) (call, bool) {
	var c call
	switch f := n.Fun.(type) {
	case *ast.Ident:
		if f.Name != "text" && f.Name != "count" {
			return c, false
		}
		c.counted = f.Name == "count"
	case *ast.SelectorExpr:
		x, ok := f.X.(*ast.Ident)
		if !ok || x.Name != "words" {
			return c, false
		}
		switch f.Sel.Name {
		case "Say", "Error":
		case "Pattern":
			c.format = true
		case "Count":
			c.counted = true
		default:
			return c, false
		}
	default:
		return c, false
	}
	if len(n.Args) == 0 {
		return c, false
	}
	c.args, c.spread = len(n.Args)-1, n.Ellipsis.IsValid()
	if c.counted {
		c.args--
	}
	c.name, c.whole = begins(n.Args[0])
	return c, true
}

// begins is the literal that a name begins with, and whether that is all of it.
func begins(e ast.Expr) (string, bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		s, err := strconv.Unquote(e.Value)
		return s, err == nil
	case *ast.BinaryExpr:
		s, _ := begins(e.X)
		return s, false
	}
	return "", false
}

func callsInTemplates(t *testing.T) []call {
	var out []call
	templates(t, func(path string, tree *parse.Tree) {
		walk(tree.Root, func(n parse.Node) {
			c, ok := n.(*parse.CommandNode)
			if !ok || len(c.Args) < 2 {
				return
			}
			f, ok := c.Args[0].(*parse.IdentifierNode)
			if !ok || f.Ident != "text" && f.Ident != "count" && f.Ident != "linked" && f.Ident != "pattern" {
				return
			}
			where, _ := tree.ErrorContext(n)
			one := call{at: path + " " + where, counted: f.Ident == "count", args: len(c.Args) - 2, format: f.Ident == "linked" || f.Ident == "pattern"}
			if one.counted {
				one.args--
			}
			if s, ok := c.Args[1].(*parse.StringNode); ok {
				one.name, one.whole = s.Text, true
			} else if p, ok := c.Args[1].(*parse.PipeNode); ok { // (printf "name.%s" …)
				if a := p.Cmds[0].Args; len(a) > 1 {
					if s, ok := a[1].(*parse.StringNode); ok {
						one.name, _, _ = strings.Cut(s.Text, "%")
					}
				}
			}
			out = append(out, one)
		})
	})
	return out
}

// templates calls for each tree of each template.
func templates(t *testing.T, do func(path string, tree *parse.Tree)) {
	t.Helper()
	for _, pattern := range []string{"dashboards/web/pages/*.html", "dashboards/report/*.html"} {
		files, err := filepath.Glob(filepath.Join(root, pattern))
		require.NoError(t, err)
		require.NotEmpty(t, files, pattern)
		for _, file := range files {
			b, err := os.ReadFile(file)
			require.NoError(t, err)
			tree := parse.New(file)
			tree.Mode = parse.SkipFuncCheck
			trees := map[string]*parse.Tree{}
			_, err = tree.Parse(string(b), "", "", trees)
			require.NoError(t, err)
			for _, one := range trees {
				do(file, one)
			}
		}
	}
}

// walk visits a node and all below it.
func walk(n parse.Node, do func(parse.Node)) {
	branch := func(b *parse.BranchNode) {
		walk(b.Pipe, do)
		walk(b.List, do)
		if b.ElseList != nil {
			walk(b.ElseList, do)
		}
	}
	do(n)
	switch n := n.(type) {
	case *parse.ListNode:
		for _, one := range n.Nodes {
			walk(one, do)
		}
	case *parse.ActionNode:
		walk(n.Pipe, do)
	case *parse.PipeNode:
		if n == nil {
			return
		}
		for _, one := range n.Cmds {
			walk(one, do)
		}
	case *parse.CommandNode:
		for _, one := range n.Args {
			walk(one, do)
		}
	case *parse.TemplateNode:
		if n.Pipe != nil {
			walk(n.Pipe, do)
		}
	case *parse.IfNode:
		branch(&n.BranchNode)
	case *parse.RangeNode:
		branch(&n.BranchNode)
	case *parse.WithNode:
		branch(&n.BranchNode)
	}
}

var (
	tags = regexp.MustCompile(`(?s)<style.*?</style>|<[^>]*>`)
	said = regexp.MustCompile(`[A-Za-z’]{2,},? [A-Za-z]`) // two words at least, and so a text for people
	word = regexp.MustCompile(`[A-Za-z’]{2,}`)
	sql  = regexp.MustCompile(`\b(SELECT|INSERT|UPDATE|DELETE|FROM|JOIN|ON|SET|WHERE|VALUES|BY|DESC|NULL|LIKE|UNION|PRAGMA|VACUUM)\b`)
	told = regexp.MustCompile(`(?:aria-label|title|alt|placeholder)="[^"{]*[A-Za-z]{2}`)
)

// TestTemplatesSayNothingThemselves finds what is said in a template and not by
// a text.
func TestTemplatesSayNothingThemselves(t *testing.T) {
	templates(t, func(path string, tree *parse.Tree) {
		name := strings.TrimPrefix(path, root+"/dashboards/")
		if untold[name] {
			return
		}
		var b strings.Builder
		walk(tree.Root, func(n parse.Node) {
			switch n := n.(type) {
			case *parse.TextNode:
				b.Write(n.Text)
			case *parse.ActionNode:
				b.WriteString("\x00")
			}
		})
		for _, found := range word.FindAllString(tags.ReplaceAllString(b.String(), " "), -1) {
			assert.Fail(t, "a word in a template", "%s: %q belongs into the texts", path, found)
		}
		assert.Empty(t, told.FindAllString(b.String(), -1), "%s: belongs into the texts", path)
	})
}

// TestCodeSaysNothingItself finds what is said in code of the packages that
// speak to people and not by a text. Errors that begin with the name of the
// package, and what is being done when they come, are for programmers; so is
// SQL, which has its words in capitals.
func TestCodeSaysNothingItself(t *testing.T) {
	read := 0
	sources(t, func(path string, set *token.FileSet, f *ast.File) {
		dir, _ := filepath.Rel(root, filepath.Dir(path))
		if !speaking[dir] {
			return
		}
		read++
		ast.Inspect(f, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.ImportSpec:
				return false
			case *ast.Field:
				n.Tag = nil
			case *ast.GenDecl:
				if n.Tok == token.CONST && ofOwnType(n) { // files and the contract have them; their method Words tells them
					return false
				}
			case *ast.ValueSpec:
				if of, ok := n.Type.(*ast.Ident); ok && of.Name != "string" { // what files hold; a text says it to people
					return false
				}
				for _, name := range n.Names {
					if strings.HasPrefix(strings.ToLower(name.Name), "err") { // told within the program only
						return false
					}
				}
			case *ast.CallExpr:
				if forProgrammers(n) {
					return false
				}
			case *ast.BasicLit:
				s, err := strconv.Unquote(n.Value)
				if n.Kind == token.STRING && err == nil && (said.MatchString(tags.ReplaceAllString(s, "")) || told.MatchString(s)) && !Known(s) && !typed[s] && !valued[s] && !logged[s] && !strings.HasPrefix(s, f.Name.Name+": ") && !sql.MatchString(s) {
					assert.Fail(t, "a text outside of the texts", "%s: %s", set.Position(n.Pos()), n.Value)
				}
			}
			return true
		})
	})
	assert.Greater(t, read, 50)
}

// ofOwnType says whether constants are the values of a type of the package.
func ofOwnType(d *ast.GenDecl) bool {
	for _, s := range d.Specs {
		v, ok := s.(*ast.ValueSpec)
		if !ok || v.Type == nil {
			return false
		}
		if t, ok := v.Type.(*ast.Ident); !ok || t.Obj == nil && t.Name == strings.ToLower(t.Name) {
			return false
		}
	}
	return true
}

// forProgrammers says whether a call is one of a panic, of a log, or of a
// pattern.
func forProgrammers(n *ast.CallExpr) bool {
	switch f := n.Fun.(type) {
	case *ast.Ident:
		return f.Name == "panic"
	case *ast.SelectorExpr:
		if on, ok := f.X.(*ast.SelectorExpr); ok && strings.EqualFold(on.Sel.Name, "log") {
			return true
		}
		x, ok := f.X.(*ast.Ident)
		return ok && (x.Name == "regexp" || x.Name == "time" || f.Sel.Name == "Format")
	}
	return false
}

// names lists the names of all texts, sorted.
func names() []string {
	all := make([]string, 0, len(english))
	for name := range english {
		all = append(all, name)
	}
	slices.Sort(all)
	return all
}
