package lace

import (
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"weftroom/calc"
	"weftroom/calc/cputime"
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

var faultyObservations = []struct {
	name string
	seen Observation
	want calc.Fault
}{
	{"nothing said", Observation{Row: 1},
		calc.Fault{Code: calc.MissingArgument, Key: KeyProblemWhat, Field: "left", Example: "left:7"}},
	{"a row beyond the plan", Observation{Row: 3, HasLeft: true},
		calc.Fault{Code: calc.OutOfRange, Key: KeyProblemRow, Field: "row", Args: []any{3, 2}, Example: "row:1"}},
	{"no row", Observation{HasLeft: true},
		calc.Fault{Code: calc.OutOfRange, Key: KeyProblemRow, Field: "row", Args: []any{0, 2}, Example: "row:1"}},
	{"a group beyond the row", Observation{Row: 2, Group: 17, Sees: Float},
		calc.Fault{Code: calc.OutOfRange, Key: KeyProblemGroup, Field: "group", Args: []any{17, 16, 2}, Example: "group:5"}},
	{"a group without what is seen", Observation{Row: 1, HasLeft: true, Left: 5, Group: 3},
		calc.Fault{Code: calc.MissingArgument, Key: KeyProblemSees, Field: "sees", Example: "group:5 sees:doubled"}},
	{"what is seen without a group", Observation{Row: 1, Sees: Float},
		calc.Fault{Code: calc.MissingArgument, Key: KeyProblemSees, Field: "sees", Example: "group:5 sees:doubled"}},
	{"more left than the warp has", Observation{Row: 1, HasLeft: true, Left: 51},
		calc.Fault{Code: calc.OutOfRange, Key: KeyProblemLeft, Field: "left", Args: []any{51, 50}, Example: "left:5"}},
	{"a move beyond the row", Observation{Row: 1, Move: 35, HasLeft: true, Left: 5},
		calc.Fault{Code: calc.OutOfRange, Key: KeyProblemMove, Field: "move", Args: []any{35, 34, 1}, Example: "move:34"}},
	{"a move without a count", Observation{Row: 1, Move: 7, Group: 3, Sees: Float},
		calc.Fault{Code: calc.MissingArgument, Key: KeyProblemCount, Field: "left", Example: "left:5"}},
	{"absurdly short", Observation{Row: 1, Short: 1 << 40},
		calc.Fault{Code: calc.OutOfRange, Key: KeyProblemLeft, Field: "short", Args: []any{1 << 40, 50}, Example: "short:1"}},
}

func TestWhatCannotBeSeenIsAFault(t *testing.T) {
	p := scarf(t)
	for _, tt := range faultyObservations {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Diagnose(p, tt.seen)
			var fault *calc.Fault
			if !errors.As(err, &fault) {
				t.Fatalf("Diagnose() = %v, want a fault", err)
			}
			if diff := cmp.Diff(tt.want, *fault); diff != "" {
				t.Errorf("fault (-want +got):\n%s", diff)
			}
		})
	}
}

// scarf is the odd warp of the craft page: 97 ends in groups of 3.
func scarf(t testing.TB) *Plan {
	t.Helper()
	d, err := Pattern{Ends: 97, Raised: 3, Passes: 3, Rows: 2}.Design()
	if err != nil {
		t.Fatal(err)
	}
	p, err := Make(d)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// TestCausesByHand are rows that were woven on paper, all on the scarf unless ends says otherwise.
func TestCausesByHand(t *testing.T) {
	for _, tt := range []struct {
		name string
		ends int
		seen Observation
		want MistakeKind
		by   int
		near bool // of someone who does not stop where she is told to
	}{
		// Two groups of three before the last pass: 7 raised ends of 85 to 97.
		{"one repeat too few", 97, Observation{Row: 1, HasLeft: true, Left: 7}, PassMissing, 2, false},
		// 96 ends are 16 groups of 3. One pair taken too much stops her at the move on to the last group, with 5 for 6.
		{"a pair too many in some group", 96, Observation{Row: 1, Move: 31, HasLeft: true, Left: 5}, GroupLong, 1, false},
		// 2 in the last pass are left only by the last way back, one short; or, with a pair taken too much in any of
		// the groups before, by going on to the edge with 5 for 6 and back to the last hole, which 15 groups make likelier.
		{"went on to the edge and back to the hole", 96, Observation{Row: 1, HasLeft: true, Left: 2}, GroupLong, 1, true},
		// Who stops tells the move. There only the last way back does it.
		{"the last way back too short", 96, Observation{Row: 1, Move: 33, HasLeft: true, Left: 2}, BackShort, 1, false},
		{"a pair too few in some group", 96, Observation{Row: 1, HasLeft: true, Left: 4}, GroupShort, 1, false},
		{"the same, told as short", 96, Observation{Row: 1, Short: 1}, GroupLong, 1, false},
		{"one repeat too many", 96, Observation{Row: 1, Short: 3}, PassExtra, 2, false},
		{"two threads in one shed", 96, Observation{Row: 1, Group: 5, Sees: Doubled}, ShedNotChanged, 1, false},
		{"a pass came out again", 96, Observation{Row: 2, Group: 5, Sees: Undone}, ShedNotChanged, 1, false},
		{"a pair lies free where a group begins", 96, Observation{Row: 1, Group: 5, Sees: Float}, GroupLong, 1, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			d, err := Pattern{Ends: tt.ends, Raised: 3, Passes: 3, Rows: 2}.Design()
			if err != nil {
				t.Fatal(err)
			}
			p, err := Make(d)
			if err != nil {
				t.Fatal(err)
			}
			got, err := Diagnose(p, tt.seen)
			if err != nil || len(got.Causes) == 0 {
				t.Fatalf("%+v, %v", got, err)
			}
			c := got.Causes[0]
			if tt.near != c.Near {
				t.Errorf("first %+v, near %v, want %v", c, c.Near, tt.near)
			}
			if c.Kind != tt.want || c.By != tt.by || tt.seen.Group > 0 && c.Group != tt.seen.Group {
				t.Errorf("first %+v", c)
			}
			sum := 0.0
			for i, c := range got.Causes {
				sum += c.Share
				if i > 0 && c.Share > got.Causes[i-1].Share {
					t.Errorf("cause %d is likelier than the one before it", i+1)
				}
			}
			if math.Abs(sum-1) > 1e-9 {
				t.Errorf("the shares make %v", sum)
			}
		})
	}
	right, err := Diagnose(scarf(t), Observation{Row: 1, HasLeft: true, Left: 4})
	if err != nil || right.Expected != 4 || right.Move != 33 || len(right.Causes) > 0 || right.Candidates > 0 {
		t.Errorf("a row that came out: %+v, %v", right, err)
	}
}

// TestADiagnosisIsTheSameEachTime, to the last digit of its shares.
func TestADiagnosisIsTheSameEachTime(t *testing.T) {
	p, seen := scarf(t), Observation{Row: 1, Group: 3, Sees: Doubled}
	shares := func() (all []float64) {
		d, err := Diagnose(p, seen)
		if err != nil || len(d.Causes) < 3 {
			t.Fatalf("%+v, %v", d, err)
		}
		for _, c := range d.Causes {
			all = append(all, c.Share)
		}
		return all
	}
	first := shares()
	for range 50 {
		if diff := cmp.Diff(first, shares()); diff != "" {
			t.Fatal(diff)
		}
	}
}

// BenchmarkDiagnose gives the candidates, and the processor time that each takes as a
// part of what planning and proving the row takes in the same run.
func BenchmarkDiagnose(b *testing.B) {
	for _, ends := range []int{100, 400, 1000} {
		for _, seen := range []struct {
			name string
			Observation
		}{{"count", Observation{Row: 1, HasLeft: true, Left: 6}}, {"look", Observation{Row: 1, Group: 5, Sees: Open}}} {
			b.Run(fmt.Sprintf("%d-%s", ends, seen.name), func(b *testing.B) {
				d, err := Pattern{Ends: ends, Raised: 3, Passes: 3, Rows: 1}.Design()
				if err != nil {
					b.Fatal(err)
				}
				p, err := Make(d)
				if err != nil {
					b.Fatal(err)
				}
				const floors = 20 // one alone is too short to be measured
				var whole, floor time.Duration
				tried := 0
				for b.Loop() {
					floor += cputime.Spent(b, func() {
						for range floors {
							_, err = Make(d)
						}
					}) / floors
					if err != nil {
						b.Fatal(err)
					}
					whole += cputime.Spent(b, func() {
						var got Diagnosis
						got, err = Diagnose(p, seen.Observation)
						tried = got.Candidates
					})
					if err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(tried), "candidates")
				b.ReportMetric(float64(whole)/float64(floor)/float64(tried), "plans/candidate")
			})
		}
	}
}
