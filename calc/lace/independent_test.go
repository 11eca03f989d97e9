package lace

import (
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"path"
	"path/filepath"
	"strings"
	"testing"
)

// The judge must not ask the judged: weave.go and prove.go may use what they
// declare themselves and the types of plan.go, and nothing else of the package.
func TestWeaverAndProofKnowNothingOfThePlanner(t *testing.T) {
	allowed := map[string]bool{"weave.go": true, "prove.go": true, "plan.go": true}
	fset := token.NewFileSet()
	files := parsePackage(t, fset)
	info := &types.Info{Uses: map[*ast.Ident]types.Object{}}
	// Names from elsewhere stay unknown, and complaints of that are not heard:
	// only what this package declares matters.
	conf := types.Config{Importer: blankImporter{}, Error: func(error) {}}
	pkg, _ := conf.Check("lace", fset, files, info)
	if pkg.Scope().Lookup("Make") == nil {
		t.Fatal("there is no planner to be kept apart from")
	}

	seen := 0
	for id, obj := range info.Uses {
		user := filepath.Base(fset.Position(id.Pos()).Filename)
		if user != "weave.go" && user != "prove.go" || obj.Pkg() != pkg {
			continue
		}
		seen++
		if declarer := filepath.Base(fset.Position(obj.Pos()).Filename); !allowed[declarer] {
			t.Errorf("%s uses %s, which %s declares", fset.Position(id.Pos()), id.Name, declarer)
		}
	}
	if seen < 100 {
		t.Errorf("only %d names looked at", seen)
	}
}

func parsePackage(t *testing.T, fset *token.FileSet) []*ast.File {
	t.Helper()
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	var files []*ast.File
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(fset, name, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, file)
	}
	return files
}

// blankImporter gives every import as a package of the right name with nothing
// in it.
type blankImporter struct{}

func (blankImporter) Import(name string) (*types.Package, error) {
	pkg := types.NewPackage(name, path.Base(name))
	pkg.MarkComplete()
	return pkg, nil
}
