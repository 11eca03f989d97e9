package warp

import (
	"go/ast"
	"go/parser"
	"go/token"
	"strconv"
	"testing"

	"weftroom/calc"
)

// Keys must hold every key constant once: the sentence catalogue is checked
// against it and nothing else.
func TestKeysAreComplete(t *testing.T) {
	declared := map[calc.Key]bool{}
	file, err := parser.ParseFile(token.NewFileSet(), "keys.go", nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	ast.Inspect(file, func(n ast.Node) bool {
		spec, ok := n.(*ast.ValueSpec)
		if !ok || len(spec.Values) != 1 {
			return true
		}
		if lit, ok := spec.Values[0].(*ast.BasicLit); ok {
			s, err := strconv.Unquote(lit.Value)
			if err != nil {
				t.Fatal(err)
			}
			declared[calc.Key(s)] = true
		}
		return true
	})
	if len(declared) == 0 {
		t.Fatal("no keys found in keys.go")
	}
	listed := map[calc.Key]bool{}
	for _, k := range Keys {
		if listed[k] {
			t.Errorf("%s is listed twice", k)
		}
		listed[k] = true
		if !declared[k] {
			t.Errorf("%s is listed and not declared", k)
		}
	}
	for k := range declared {
		if !listed[k] {
			t.Errorf("%s is declared and not listed", k)
		}
	}
}
