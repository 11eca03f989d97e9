package lace

import (
	"errors"
	"slices"
	"strings"
	"testing"
)

// handRow is a row worked out on paper.
type handRow struct {
	start  Side
	groups []int // raised ends in shed 1
	moves  string
}

func handPlan(t testing.TB, d Design, rows ...handRow) *Plan {
	t.Helper()
	p := &Plan{Design: d}
	for i, r := range rows {
		p.Rows = append(p.Rows, Row{Number: i + 1, Start: r.start, Groups: r.groups, Moves: moves(t, r.moves)})
	}
	return p
}

// handPlans are small plans worked out on paper, end by end.
func handPlans(t testing.TB) map[string]*Plan {
	t.Helper()
	return map[string]*Plan{
		"one-way from the right on an even warp": handPlan(t,
			Design{Ends: 8, From: Right, Way: OneWay, Passes: 3, Rows: []Groups{{2, 2}, {2, 2}}},
			handRow{Right, []int{2, 2}, ".1<2 !2>2 ~1<4 ~2>2 !1<2 ~2>4h"},
			handRow{Right, []int{2, 2}, "~1<2 !2>2 ~1<4 ~2>2 !1<2 ~2>4h"}),
		"one-way from the left on an even warp begins in shed 2": handPlan(t,
			Design{Ends: 8, From: Left, Way: OneWay, Passes: 3, Rows: []Groups{{2, 2}}},
			handRow{Left, []int{2, 2}, ".2>2 !1<2 ~2>4 ~1<2 !2>2 ~1<4h"}),
		"one-way from the left on an odd warp begins in shed 1": handPlan(t,
			Design{Ends: 9, From: Left, Way: OneWay, Passes: 3, Rows: []Groups{{2, 2}}},
			handRow{Left, []int{2, 3}, ".1>2 !2<2 ~1>5 ~2<2 !1>3 ~2<4h"}),
		"two-way on 9 ends: the end over is in the first group of the return": handPlan(t,
			Design{Ends: 9, From: Right, Way: TwoWay, Passes: 3, Rows: []Groups{{2, 2}, {2, 2}, {2, 2}}},
			handRow{Right, []int{2, 3}, ".1<2 !2>2 ~1<5 ~2>2 !1<3"},
			handRow{Left, []int{3, 2}, "~2>2 !1<3 ~2>4 ~1<2 !2>2"},
			handRow{Right, []int{2, 3}, "~1<2 !2>2 ~1<5 ~2>2 !1<3"}),
		"two-way on 13 ends": handPlan(t,
			Design{Ends: 13, From: Right, Way: TwoWay, Passes: 3, Rows: []Groups{{2, 2, 2}, {2, 2, 2}}},
			handRow{Right, []int{2, 2, 3}, ".1<2 !2>2 ~1<4 !2>2 !1<5 ~2>2 !1<3"},
			handRow{Left, []int{3, 2, 2}, "~2>2 !1<3 ~2>4 !1<2 !2>4 ~1<2 !2>2"}),
		"two-way from the left on 11 ends": handPlan(t,
			Design{Ends: 11, From: Left, Way: TwoWay, Passes: 3, Rows: []Groups{{2, 3}, {3, 2}}},
			handRow{Left, []int{2, 4}, ".1>2 !2<2 ~1>6 ~2<3 !1>4"},
			handRow{Right, []int{4, 2}, "~2<3 !1>4 ~2<5 ~1>2 !2<2"}),
		"p = 5": handPlan(t,
			Design{Ends: 9, From: Right, Way: OneWay, Passes: 5, Rows: []Groups{{2, 2}}},
			handRow{Right, []int{2, 3}, ".1<2 !2>2 ~1<2 !2>2 ~1<5 ~2>2 !1<3 ~2>2 !1<3 ~2>4h"}),
		"edges of one pair": handPlan(t,
			Design{Ends: 12, From: Right, Way: OneWay, Passes: 3, Rows: []Groups{{1, 2, 2, 1}}},
			handRow{Right, []int{1, 2, 2, 1}, ".1<1 !2>1 ~1<3 !2>2 !1<4 !2>2 !1<3 ~2>1 !1<1 ~2>6h"}),
		"half-drop": handPlan(t,
			Design{Ends: 12, From: Right, Way: OneWay, Passes: 3, Rows: []Groups{{3, 3}, {2, 3, 1}}},
			handRow{Right, []int{3, 3}, ".1<3 !2>3 ~1<6 ~2>3 !1<3 ~2>6h"},
			handRow{Right, []int{2, 3, 1}, "~1<2 !2>2 ~1<5 !2>3 !1<4 ~2>1 !1<1 ~2>6h"}),
		"two ends": handPlan(t,
			Design{Ends: 2, From: Right, Way: OneWay, Passes: 3, Rows: []Groups{{1}}},
			handRow{Right, []int{1}, ".1<1 ~2>1 ~1<1 ~2>1h"}),
		"a single group is plain weave": handPlan(t,
			Design{Ends: 8, From: Right, Way: OneWay, Passes: 3, Rows: []Groups{{4}}},
			handRow{Right, []int{4}, ".1<4 ~2>4 ~1<4 ~2>4h"}),
	}
}

func TestProveAcceptsPlansWorkedOutOnPaper(t *testing.T) {
	for name, p := range handPlans(t) {
		t.Run(name, func(t *testing.T) {
			if err := Prove(p.Design, p); err != nil {
				t.Error(err)
			}
		})
	}
}

// written gives the plan of a design in the words of the craft: forward under
// the first group, back under it, forward under it and the next, and so on, in
// counts alone and without a thought of where the shuttle is. The end over of
// an odd warp is raised on the way forward when the row begins where the piece
// does, and on the way back when it comes from there.
func written(d Design) *Plan {
	p := &Plan{Design: d}
	shed := Shed1
	if d.From == Left && d.Ends%2 == 0 {
		shed = Shed2
	}
	start := d.From
	turn := Plain
	for i, groups := range d.Rows {
		row := Row{Number: i + 1, Start: start}
		forward, back := slices.Clone(groups), slices.Clone(groups)
		if d.Ends%2 == 1 && start == d.From {
			forward[len(forward)-1]++
		} else if d.Ends%2 == 1 {
			back[0]++
		}
		move := func(kind Kind, toward Side, under int, next Tension) {
			row.Moves = append(row.Moves, Move{Kind: kind, Shed: shed, Toward: toward, Under: under, Turn: turn})
			shed, turn = shed.Other(), next
		}
		behind := Slack // the turn at the foot of the group in hand
		toFar := func(j int) Tension {
			if j == len(groups)-1 {
				return Slack
			}
			return Snug
		}
		move(GroupPass, start.Other(), forward[0], toFar(0))
		for j := range groups {
			for back2 := range (d.Passes - 1) / 2 {
				move(GroupPass, start, back[j], behind)
				if back2 < (d.Passes-1)/2-1 || j == len(groups)-1 {
					move(GroupPass, start.Other(), forward[j], toFar(j))
					continue
				}
				move(GroupPass, start.Other(), forward[j]+forward[j+1], toFar(j+1))
			}
			behind = Snug
		}
		if d.Way == OneWay {
			move(HomePick, start, d.Ends/2, Slack)
		}
		row.Groups = slices.Clone(groups)
		switch {
		case d.Ends%2 == 1 && start == d.From:
			row.Groups[len(groups)-1]++
		case d.Ends%2 == 1:
			row.Groups[0]++
		}
		if d.Way == TwoWay {
			start = start.Other()
		}
		p.Rows = append(p.Rows, row)
	}
	return p
}

// uniform is k groups of g pairs and what is over with the last.
func uniform(ends, g int) Groups {
	var groups Groups
	for range ends / 2 / g {
		groups = append(groups, g)
	}
	groups[len(groups)-1] += ends / 2 % g
	return groups
}

func repeatRows(g Groups, n int) []Groups { return slices.Repeat([]Groups{g}, n) }

// The worked values of the craft page, section 2.
func TestProveAcceptsTheWorkedValues(t *testing.T) {
	tests := []struct {
		name  string
		ends  int
		from  Side
		moves int
		first string
		last  string
	}{ // all: source derived, two programs written apart agree
		{"96 ends", 96, Right, 34, ".1<3 !2>3 ~1<6 !2>3 !1<6", "!2>3 !1<6 ~2>3 !1<3 ~2>48h"},
		{"97 ends", 97, Right, 34, ".1<3 !2>3 ~1<6 !2>3 !1<6", "!2>3 !1<7 ~2>3 !1<4 ~2>48h"},
		{"98 ends", 98, Right, 34, ".1<3 !2>3 ~1<6 !2>3 !1<6", "!2>3 !1<7 ~2>4 !1<4 ~2>49h"},
		{"100 ends", 100, Right, 34, ".1<3 !2>3 ~1<6 !2>3 !1<6", "!2>3 !1<8 ~2>5 !1<5 ~2>50h"},
		{"120 ends", 120, Right, 42, ".1<3 !2>3 ~1<6 !2>3 !1<6", "!2>3 !1<6 ~2>3 !1<3 ~2>60h"},
		{"98 ends from the left", 98, Left, 34, ".2>3 !1<3 ~2>6 !1<3 !2>6", "!1<3 !2>7 ~1<4 !2>4 ~1<49h"},
		{"97 ends from the left", 97, Left, 34, ".1>3 !2<3 ~1>6 !2<3 !1>6", "!2<3 !1>7 ~2<3 !1>4 ~2<48h"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d := Design{Ends: tt.ends, From: tt.from, Way: OneWay, Passes: 3, Rows: []Groups{uniform(tt.ends, 3)}}
			p := written(d)
			ms := p.Rows[0].Moves
			if len(ms) != tt.moves {
				t.Fatalf("%d moves, want %d", len(ms), tt.moves)
			}
			if want := moves(t, tt.first); !slices.Equal(ms[:len(want)], want) {
				t.Errorf("first moves %v, want %v", ms[:len(want)], want)
			}
			if want := moves(t, tt.last); !slices.Equal(ms[len(ms)-len(want):], want) {
				t.Errorf("last moves %v, want %v", ms[len(ms)-len(want):], want)
			}
			if err := Prove(d, p); err != nil {
				t.Error(err)
			}
		})
	}
}

func TestPaperAndWrittenPlansAgree(t *testing.T) {
	for name, p := range handPlans(t) {
		t.Run(name, func(t *testing.T) {
			if got := written(p.Design); !samePlan(got, p) {
				t.Errorf("written\n%+v\non paper\n%+v", got, p)
			}
		})
	}
}

// samePlan tells whether two plans say the same, move by move.
func samePlan(a, b *Plan) bool {
	return samePiece(a.Design, b.Design) && slices.EqualFunc(a.Rows, b.Rows, func(x, y Row) bool {
		return x.Number == y.Number && x.Start == y.Start &&
			slices.Equal(x.Groups, y.Groups) && slices.Equal(x.Moves, y.Moves)
	})
}

// The asks are small enough to see what is wrong with each plan.
func TestProveNamesTheFlaw(t *testing.T) {
	one := Design{Ends: 8, From: Right, Way: OneWay, Passes: 3, Rows: []Groups{{2, 2}}}
	two := Design{Ends: 8, From: Right, Way: TwoWay, Passes: 3, Rows: []Groups{{2, 2}, {2, 2}}}
	nine := Design{Ends: 9, From: Right, Way: OneWay, Passes: 3, Rows: []Groups{{2, 2}}}
	single := Design{Ends: 8, From: Right, Way: OneWay, Passes: 3, Rows: []Groups{{4}}}
	tests := []struct {
		name      string
		d         Design
		groups    []int
		rows      []string
		invariant int
		row, step int
		what      string
	}{
		{"no pick home", one, nil, []string{".1<2 !2>2 ~1<4 ~2>2 !1<2"}, 1, 1, 5, "ends at boundary 8"},
		{"the row stops mid-warp", one, nil, []string{".1<2 !2>2 ~1<4 ~2>2"}, 1, 1, 4, "ends at boundary 4"},
		{"a pick home where the return is a row", two, nil, []string{".1<2 !2>2 ~1<4 ~2>2 !1<2 ~2>4h", ""}, 1, 1, 6, "ends at boundary 0"},
		{"the shed not changed", one, nil, []string{".1<2 !1>2"}, 2, 1, 2, "shed 1 again over end 1"},
		{"the shed not changed under a full width", single, []int{4}, []string{".1<4 ~2>4 ~2<4 ~1>4h"}, 2, 1, 3, "shed 2 again over end 1"},
		{"the shed not changed between two rows", two, nil, []string{".1<2 !2>2 ~1<4 ~2>2 !1<2", "~1>2"}, 2, 2, 1, "shed 1 again over end 4"},
		{"a group with two passes too few", one, nil, []string{".1<2 !2>2 ~1<4 ~2>4h"}, 3, 1, 0, "end 5 has had 2 picks"},
		{"two plain picks too many", single, []int{4}, []string{".1<4 ~2>4 ~1<4 ~2>4 ~1<4 ~2>4h"}, 3, 1, 0, "6 picks"},
		{"a row without a move", single, []int{4}, []string{""}, 3, 1, 0, "0 picks"},
		{"more raised ends asked for than there are", one, nil, []string{".1<5"}, 4, 1, 1, "4 raised ends left"},
		{"under none", one, nil, []string{".1<0"}, 4, 1, 1, "under 0"},
		{"no such shed", one, nil, []string{".3<2"}, 4, 1, 1, "no such shed"},
		{"an odd end left behind by a wrong first shed", one, nil, []string{".2<2"}, 5, 1, 1, "first shed"},
		{"a wrong first shed that comes out all the same", single, []int{4}, []string{".2<4 ~1>4 ~2<4 ~1>4h"}, 5, 1, 1, "first shed"},
		{"one movement made in two", one, nil, []string{".1<2 !2>2 ~1<2 !1<2 ~2>2 !1<2 ~2>4h"}, 5, 1, 4, "goes on"},
		{"the first movement made in two", one, nil, []string{".1<2 !1<2"}, 5, 1, 2, "goes on"},
		{"a border in the far group", one, nil, []string{".1<2 !2>2 ~1<4 ~2>1 !1<1"}, 5, 1, 5, "inside a group"},
		{"a group borders where none was asked", one, nil, []string{".1<1 !2>1"}, 5, 1, 2, "inside a group"},
		{"slack said where the weft enters", one, nil, []string{"~1<2 !2>2"}, 5, 1, 1, "tension"},
		{"slack said at a border", nine, []int{2, 3}, []string{".1<2 ~2>2 ~1<5 ~2>2 !1<3 ~2>4h"}, 5, 1, 2, "tension"},
		{"snug said at a selvedge", nine, []int{2, 3}, []string{".1<2 !2>2 ~1<5 !2>2 !1<3 ~2>4h"}, 5, 1, 4, "tension"},
		{"the pick home not called so", one, nil, []string{".1<2 !2>2 ~1<4 ~2>2 !1<2 ~2>4"}, 5, 1, 6, "kind"},
		{"another move called the pick home", one, nil, []string{".1<2 !2>2 ~1<4 ~2>2h !1<2 ~2>4h"}, 5, 1, 4, "kind"},
		{"the near group finished on the way home", one, nil, []string{".1<4 ~2>2 !1<2 ~2>4 ~1<2 !2>2h"}, 5, 1, 6, "pick home begins"},
		{"all plain", one, nil, []string{".1<4 ~2>4 ~1<4 ~2>4h"}, 5, 1, 0, "turned 0 and 0 times"},
		{"the near group with two passes too many", one, nil, []string{".1<2 !2>2 ~1<2 !2>2 ~1<4 ~2>2 !1<2 ~2>4h"}, 3, 1, 0, "end 1 has had 6 picks"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if tt.groups == nil {
				tt.groups = []int{2, 2}
			}
			p := &Plan{Design: tt.d}
			for i, text := range tt.rows {
				start := tt.d.From
				if tt.d.Way == TwoWay && i == 1 {
					start = start.Other()
				}
				p.Rows = append(p.Rows, Row{Number: i + 1, Start: start, Groups: tt.groups, Moves: moves(t, text)})
			}
			wantFlaw(t, Prove(tt.d, p), tt.invariant, tt.row, tt.step, tt.what)
		})
	}
}

func wantFlaw(t *testing.T, err error, invariant, row, step int, what string) {
	t.Helper()
	var f *Flaw
	if !errors.As(err, &f) {
		t.Fatalf("got %v, want a *Flaw", err)
	}
	if f.Invariant != invariant || f.Row != row || f.Step != step || !strings.Contains(f.What, what) {
		t.Errorf("got %v, want invariant %d, row %d, step %d: …%s…", f, invariant, row, step, what)
	}
}

// Every row is held to its own borders, not to those of the row below.
func TestProveForgetsTheBordersOfTheRowBelow(t *testing.T) {
	p := copyPlan(handPlans(t)["half-drop"])
	d := p.Design
	p.Rows[1].Moves = moves(t, "~1<3 !2>3 ~1<6 ~2>3 !1<3 ~2>6h") // row 1 again
	wantFlaw(t, Prove(d, p), 5, 2, 2, "inside a group")
}

// What a *Flaw says of the plan as a whole, and of the names over a row.
func TestProveHoldsThePlanToTheAsk(t *testing.T) {
	d := Design{Ends: 9, From: Right, Way: TwoWay, Passes: 3, Rows: []Groups{{2, 2}, {2, 2}}}
	good := func() *Plan { return written(d) }
	tests := []struct {
		name  string
		spoil func(p *Plan) *Plan
		row   int
		what  string
	}{
		{"no plan", func(p *Plan) *Plan { return nil }, 0, "no plan"},
		{"other ends", func(p *Plan) *Plan { p.Design.Ends++; return p }, 0, "another design"},
		{"another side", func(p *Plan) *Plan { p.Design.From = Left; return p }, 0, "another design"},
		{"another way", func(p *Plan) *Plan { p.Design.Way = OneWay; return p }, 0, "another design"},
		{"other passes", func(p *Plan) *Plan { p.Design.Passes = 5; return p }, 0, "another design"},
		{"other groups", func(p *Plan) *Plan { p.Design.Rows = []Groups{{2, 2}, {1, 3}}; return p }, 0, "another design"},
		{"a row missing", func(p *Plan) *Plan { p.Rows = p.Rows[:1]; return p }, 0, "1 rows planned, 2 asked"},
		{"a row too many", func(p *Plan) *Plan { p.Rows = append(p.Rows, p.Rows[0]); return p }, 0, "3 rows planned, 2 asked"},
		{"a wrong number", func(p *Plan) *Plan { p.Rows[1].Number = 1; return p }, 2, "numbered 1"},
		{"a wrong start", func(p *Plan) *Plan { p.Rows[1].Start = Right; return p }, 2, "it says side 0"},
		{"a group not shown", func(p *Plan) *Plan { p.Rows[0].Groups = []int{5}; return p }, 1, "1 groups shown"},
		{"the end over shown in the wrong group", func(p *Plan) *Plan { p.Rows[1].Groups = []int{2, 3}; return p }, 2, "group 1 shown with 2 raised ends, it has 3"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			wantFlaw(t, Prove(d, tt.spoil(good())), 5, tt.row, 0, tt.what)
		})
	}
}

func TestProveRefusesWhatIsNoDesign(t *testing.T) {
	const huge = 1 << 62
	tests := []struct {
		name string
		d    Design
		row  int
	}{
		{"nothing", Design{}, 0},
		{"one end", Design{Ends: 1, Passes: 3, Rows: []Groups{{}}}, 0},
		{"even passes", Design{Ends: 8, Passes: 4, Rows: []Groups{{4}}}, 0},
		{"one pass", Design{Ends: 8, Passes: 1, Rows: []Groups{{4}}}, 0},
		{"no row", Design{Ends: 8, Passes: 3}, 0},
		{"no such side", Design{Ends: 8, Passes: 3, From: 2, Rows: []Groups{{4}}}, 0},
		{"no such way", Design{Ends: 8, Passes: 3, Way: -1, Rows: []Groups{{4}}}, 0},
		{"a row without groups", Design{Ends: 8, Passes: 3, Rows: []Groups{{4}, {}}}, 2},
		{"a group of nothing", Design{Ends: 8, Passes: 3, Rows: []Groups{{4, 0}}}, 1},
		{"a group of less", Design{Ends: 8, Passes: 3, Rows: []Groups{{5, -1}}}, 1},
		{"warp left over", Design{Ends: 10, Passes: 3, Rows: []Groups{{4}}}, 1},
		{"more than the warp", Design{Ends: 8, Passes: 3, Rows: []Groups{{2, 3}}}, 1},
		{"sums that wrap round", Design{Ends: 8, Passes: 3, Rows: []Groups{{huge, huge, huge, huge, 4}}}, 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			wantFlaw(t, Prove(tt.d, &Plan{Design: tt.d, Rows: make([]Row, len(tt.d.Rows))}), 5, tt.row, 0, "no design")
		})
	}
}

// The weaver gets to where she counts; the proof counts again by arithmetic. To
// see that it does, it is shown a pass whose count is not true.
func TestProofCountsForItself(t *testing.T) {
	d := Design{Ends: 9, From: Right, Way: OneWay, Passes: 3, Rows: []Groups{{2, 2}}}
	p := newProof(d)
	p.want(1, d.Rows[0])
	pass := Pass{Row: 1, Step: 1, Shed: Shed1, Toward: Left, Under: 3, Low: 0, High: 4}
	wantFlaw(t, p.provePass(&pass, Move{Shed: Shed1, Toward: Left, Under: 3}), 4, 1, 1, "under 3 said, 2 raised ends")
}

func TestRaisedInIsACountOfEnds(t *testing.T) {
	for low := range 12 {
		for high := low; high < 12; high++ {
			for _, s := range []Shed{Shed1, Shed2} {
				up := 0
				for e := low + 1; e <= high; e++ {
					if s.Raises(e) {
						up++
					}
				}
				if got := raisedIn(s, low, high); got != up {
					t.Errorf("shed %d, boundaries %d to %d: %d, want %d", s, low, high, got, up)
				}
			}
		}
	}
}

func benchmarkProve(b *testing.B, ends, rows int) {
	d := Design{Ends: ends, From: Right, Way: OneWay, Passes: 3, Rows: repeatRows(uniform(ends, 3), rows)}
	p := written(d)
	visits := 0
	if err := Walk(ends, Right, p.Rows, func(p Pass) error { visits += p.High - p.Low; return nil }); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if err := Prove(d, p); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(visits), "ends/op")
}

func BenchmarkProve200x500(b *testing.B)  { benchmarkProve(b, 200, 500) }
func BenchmarkProve400x500(b *testing.B)  { benchmarkProve(b, 400, 500) }
func BenchmarkProve200x1000(b *testing.B) { benchmarkProve(b, 200, 1000) }
