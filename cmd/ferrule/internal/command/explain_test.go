package command

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/rules"
)

// ruleWord is the form of a word that a finding carries in brackets.
var ruleWord = regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)

// TestEveryWordInBracketsIsExplained reads the sources of the language and of the rules for the words that findings
// carry, so that no finding sends somebody to a page that does not exist, and no page describes what is never found.
func TestEveryWordInBracketsIsExplained(t *testing.T) {
	found := map[string]bool{}
	for _, folder := range []string{"../../../../netlist", "../../../../rules"} {
		wordsOfFindings(t, folder, found)
	}
	for _, name := range rules.Names() {
		found[name] = true
	}
	assert.Equal(t, slices.Sorted(maps.Keys(found)), explained())
}

func wordsOfFindings(t *testing.T, folder string, found map[string]bool) {
	t.Helper()
	require.NoError(t, fs.WalkDir(os.DirFS(folder), ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") || strings.Contains(path, "rulestest") {
			return err
		}
		text, err := fs.ReadFile(os.DirFS(folder), path)
		require.NoError(t, err)
		file, err := parser.ParseFile(token.NewFileSet(), path, text, 0)
		require.NoError(t, err)
		ast.Inspect(file, func(n ast.Node) bool {
			if word := wordOf(n); ruleWord.MatchString(word) {
				found[word] = true
			}
			return true
		})
		return nil
	}))
}

// wordOf returns the word that a piece of source gives a finding: the first argument of Errorf on a list of findings,
// the field Rule of a finding, or a constant whose name begins with rule.
func wordOf(n ast.Node) string {
	switch n := n.(type) {
	case *ast.CallExpr:
		if call, ok := n.Fun.(*ast.SelectorExpr); ok && call.Sel.Name == "Errorf" && len(n.Args) > 2 {
			return literal(n.Args[0])
		}
	case *ast.KeyValueExpr:
		if key, ok := n.Key.(*ast.Ident); ok && key.Name == "Rule" {
			return literal(n.Value)
		}
	case *ast.ValueSpec:
		if len(n.Values) == 1 && strings.HasPrefix(n.Names[0].Name, "rule") {
			return literal(n.Values[0])
		}
	}
	return ""
}

func literal(e ast.Expr) string {
	if lit, ok := e.(*ast.BasicLit); ok && lit.Kind == token.STRING {
		text, _ := strconv.Unquote(lit.Value)
		return text
	}
	return ""
}
