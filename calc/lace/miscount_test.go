package lace

import (
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"math/rand/v2"
	"path/filepath"
	"testing"
)

// plansToErrOn are plans to err on, of every form.
func plansToErrOn(t *testing.T, r *rand.Rand, n int) []*Plan {
	t.Helper()
	var plans []*Plan
	for len(plans) < n {
		d, err := anyPattern(r).Design()
		if err != nil || len(d.Rows[0]) < 3 {
			continue
		}
		p, err := Make(d)
		if err != nil {
			t.Fatal(err)
		}
		plans = append(plans, p)
	}
	return plans
}

// The search reckons where a slip leads; a weaver written apart weaves the same
// slip end by end. Both must come to the same count.
func TestReckonedSlipsAreWovenSo(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 1))
	compared, byHole, otherwise := map[MistakeKind]int{}, 0, 0
	for _, p := range plansToErrOn(t, r, 120) {
		number := 1 + r.IntN(len(p.Rows))
		f := newFinder(p, Observation{Row: number})
		check := func(m Mistake, out outcome) {
			slips := []slipped{{kind: m.Kind, step: m.Step, by: m.By}}
			reads := 1.0
			if m.Stays {
				reads = 0
			}
			_, _, got := weaveErring(r, erring{readsSheds: reads}, p, number, slips)
			compared[m.Kind]++
			if got.noticed != !out.made {
				t.Fatalf("%+v in row %d of %+v: noticed %v, made %v", m, number, p.Design, got.noticed, out.made)
			}
			if got.noticed {
				return
			}
			if left := got.left; left != out.left && !(left == -1 && out.left == f.expected()) {
				t.Fatalf("%+v in row %d of %+v: woven %d left, reckoned %d", m, number, p.Design, left, out.left)
			}
			_, _, got = weaveErring(r, erring{readsSheds: reads, stops: 1}, p, number, slips)
			if got.short != out.short {
				t.Fatalf("%+v in row %d of %+v: woven %d short, reckoned %d", m, number, p.Design, got.short, out.short)
			}
			_, _, got = weaveErring(r, erring{readsSheds: reads, byHole: 1, thenByHole: 1}, p, number, slips)
			byHole++
			if left := got.left; left != out.seen && !(left == -1 && out.seen == f.expected()) {
				otherwise++
			}
		}
		for g := range len(f.course.bounds) - 1 {
			for _, at := range f.course.alike(g) {
				f.course.slips(at.index, 1, make([]stride, 0, 4), func(s slip) {
					out, _ := f.course.comesOut(s, f.memo)
					if whole, _ := f.course.comesOut(s, nil); whole != out {
						t.Fatalf("%+v in row %d of %+v: %+v reckoned with jumps, %+v move by move", s.Mistake, number, p.Design, out, whole)
					}
					check(s.Mistake, out)
				})
			}
		}
		for _, by := range []int{-2, -1, 1, 2} {
			if other := f.course.on(f.course.ends + by); other.ends > 3 {
				check(Mistake{Kind: WarpCount, By: by}, other.finish(state{}, nil))
			}
		}
	}
	// Where she goes back to a hole is reckoned from how far off she is before the
	// far group; close to it a slip may also move that hole.
	t.Logf("by the hole: %d of %d slips woven otherwise than reckoned", otherwise, byHole)
	if otherwise > byHole/10 {
		t.Errorf("by the hole: %d of %d slips woven otherwise than reckoned", otherwise, byHole)
	}
	for kind := GroupLong; kind <= WarpCount; kind++ {
		if compared[kind] < 100 {
			t.Errorf("kind %d compared only %d times", kind, compared[kind])
		}
	}
}

func TestStudyWeaverKnowsNothingOfTheSearch(t *testing.T) {
	fset := token.NewFileSet()
	files := parsePackage(t, fset)
	weaver, err := parser.ParseFile(fset, "studyweaver_test.go", nil, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	info := &types.Info{Uses: map[*ast.Ident]types.Object{}}
	conf := types.Config{Importer: blankImporter{}, Error: func(error) {}}
	pkg, _ := conf.Check("lace", fset, append(files, weaver), info)
	// mistake.go gives the names of the kinds, and no more than names.
	names := map[string]bool{"MistakeKind": true, "Seen": true, "NothingSeen": true, "Doubled": true, "Open": true, "Float": true, "Undone": true}
	for _, kind := range []string{"GroupLong", "GroupShort", "BackLong", "BackShort", "ShedNotChanged", "PassMissing", "PassExtra", "WarpCount"} {
		names[kind] = true
	}
	seen := 0
	for id, obj := range info.Uses {
		if filepath.Base(fset.Position(id.Pos()).Filename) != "studyweaver_test.go" || obj.Pkg() != pkg {
			continue
		}
		seen++
		declarer := filepath.Base(fset.Position(obj.Pos()).Filename)
		if declarer != "studyweaver_test.go" && declarer != "plan.go" && !(declarer == "mistake.go" && names[id.Name]) {
			t.Errorf("%s uses %s, which %s declares", fset.Position(id.Pos()), id.Name, declarer)
		}
	}
	if seen < 200 {
		t.Errorf("only %d names looked at", seen)
	}
}
