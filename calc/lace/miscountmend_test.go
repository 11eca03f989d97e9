package lace

import (
	"slices"
	"testing"
)

// carried follows a remedy to the letter: the passes made up to where she must
// stop, from there the plan with Rest in place of its numbers, the way home with
// each loose place that the cloth shows woven again, and the next row with Next.
func carried(t *testing.T, p *Plan, w onceWoven, r Remedy) []Row {
	t.Helper()
	row, ends := p.Rows[0], p.Design.Ends
	if w.kind == WarpCount {
		ends += w.by
	}
	var made []Move
	moves := row.Moves[:len(row.Moves)-1]
	stops := len(moves)
	if w.out.move > 0 {
		stops = w.out.move
	}
	for _, a := range acts(moves[:stops-1], []slipped{w.slipped}) {
		m := a.Move
		m.Under = a.under
		made = append(made, m)
	}
	for i := stops; i <= len(moves); i++ {
		made = append(made, asTold(moves[i-1], i, r.Rest))
	}
	cloth, err := Weave(ends, row.Start, []Row{{Moves: made}})
	if err != nil {
		t.Fatalf("%s of %+v, up to the edge: %v; %+v", w.name(), p.Design, err, r)
	}
	made = append(made, homeward(cloth, row, p.Design.Passes, r)...)
	rows := []Row{{Moves: made}}
	if len(r.Next) > 0 {
		var next []Move
		for i, m := range p.Rows[1].Moves {
			next = append(next, asTold(m, i+1, r.Next))
		}
		rows = append(rows, Row{Moves: next})
	}
	return rows
}

// asTold is a move with the number that she is told instead.
func asTold(m Move, step int, instead []Instead) Move {
	for _, n := range instead {
		if n.Step == step {
			m.Under = n.Under
		}
	}
	return m
}

// homeward is the way home after a row, with the places that were crossed too few
// times woven there and back as they lack, each with the counts of the remedy.
func homeward(cloth *Cloth, row Row, passes int, r Remedy) (moves []Move) {
	home, thin := row.Moves[len(row.Moves)-1], r.Thin
	forth := home
	forth.Shed, forth.Toward = home.Shed.Other(), row.Start.Other()
	end := func(k int) int { // the kth from where the row starts
		if row.Start == Left {
			return cloth.Ends + 1 - k
		}
		return k
	}
	raised := func(s Shed, low, high int) (n int) {
		for k := low + 1; k <= high; k++ {
			if s.Raises(end(k)) {
				n++
			}
		}
		return n
	}
	at := cloth.Ends
	for k := cloth.Ends; k > 0; k-- {
		lacks := passes - cloth.Rows[0].Picks[end(k)-1]
		if lacks <= 0 {
			continue
		}
		low := k - 1
		for low > 0 && passes-cloth.Rows[0].Picks[end(low)-1] == lacks {
			low--
		}
		home.Under = raised(home.Shed, low, at)
		moves = append(moves, home)
		if len(thin) == 0 {
			break // more is loose than she is told
		}
		for range thin[0].Trips {
			forth.Under, home.Under = thin[0].Raised, thin[0].Back
			moves = append(moves, forth, home)
		}
		at, k, thin = low, low+1, thin[1:]
	}
	if at > 0 {
		home.Under = raised(home.Shed, 0, at)
		moves = append(moves, home)
	}
	return moves
}

// homeParts are the last n parts of a row, passes that go on the same way as one.
func homeParts(moves []Move, n int, start Side) (parts []Part) {
	for _, m := range moves {
		p := Part{m.Toward != start, m.Under}
		if last := len(parts) - 1; last >= 0 && parts[last].Forward == p.Forward {
			parts[last].Under += p.Under
			continue
		}
		parts = append(parts, p)
	}
	return parts[len(parts)-n:]
}

// What is offered as a way to carry on is done by the simulated weaver exactly as
// it is told, at every place at which the mistake may have been, and must come out
// level at the selvedge with no pass in the shed of the one below.
func TestCarryingOnAsToldComesOutLevel(t *testing.T) {
	asked, offered, let := map[MistakeKind]int{}, map[MistakeKind]int{}, 0
	for _, p := range smallPlans(t) {
		if p.Design.Way != OneWay {
			continue
		}
		all := everySlip(p, 1)
		remedies, known := map[Observation]map[string]Remedy{}, map[Observation]map[string]bool{}
		for _, w := range all {
			for _, o := range w.says(p, 1) {
				asked[w.kind]++
				if remedies[o] == nil {
					d, err := Diagnose(p, o)
					if err != nil {
						t.Fatal(err)
					}
					remedies[o], known[o] = map[string]Remedy{}, map[string]bool{}
					for _, c := range d.Causes {
						if c.Near {
							if d.Remedy(p, c).CarryOn {
								t.Fatalf("%+v of %+v: carrying on is offered for %+v, which does not give it exactly", o, p.Design, c)
							}
							continue
						}
						name := onceWoven{slipped: slipped{kind: c.Kind, by: c.By}}.name()
						remedies[o][name], known[o][name] = d.Remedy(p, c), c.Places == 1
					}
				}
				r := remedies[o][w.name()]
				if !r.CarryOn {
					continue
				}
				offered[w.kind]++
				if len(r.Next) > 0 {
					let++
				}
				rows := carried(t, p, w, r)
				if home := homeParts(rows[0].Moves, len(r.Home), p.Rows[0].Start); known[o][w.name()] && !slices.Equal(home, r.Home) {
					t.Fatalf("%+v of %+v: home by %+v, told %+v", w.slipped, p.Design, home, r.Home)
				}
				ends, start := w.loom.ends, p.Rows[0].Start
				if w.kind == WarpCount { // the next row begins under the edge end
					edge := Move{Shed: Shed1, Toward: start.Other(), Under: 1}
					if start == Left && ends%2 == 0 {
						edge.Shed = Shed2
					}
					rows = append(rows, Row{Moves: []Move{edge}})
				}
				cloth, err := Weave(ends, start, rows)
				if err != nil {
					t.Fatalf("%+v, step %d, of %+v, %+v: %v", w.slipped, w.step, p.Design, r, err)
				}
				picks := make([]int, ends)
				for i, row := range cloth.Rows {
					for _, pass := range row.Passes {
						if pass.Again != 0 {
							t.Fatalf("%+v of %+v, %+v: a pass in the shed of the one below, over end %d", w.slipped, p.Design, r, pass.Again)
						}
					}
					if w.kind == WarpCount && i > 0 {
						continue
					}
					if row.EndsAt != row.Passes[0].Begin() {
						t.Fatalf("%+v of %+v, %+v: the weft ends at %d", w.slipped, p.Design, r, row.EndsAt)
					}
					for e, n := range row.Picks {
						picks[e] += n
					}
				}
				if slices.Min(picks) != slices.Max(picks) || picks[0]%(p.Design.Passes+1) != 0 {
					t.Fatalf("%+v of %+v, %+v: not level: %v", w.slipped, p.Design, r, picks)
				}
			}
		}
	}
	for kind := GroupLong; kind <= WarpCount; kind++ {
		t.Logf("%s: carrying on offered for %d of %d", kindNames[kind], offered[kind], asked[kind])
	}
	t.Logf("%d times the next row lets something out", let)
	for _, kind := range []MistakeKind{GroupLong, GroupShort, PassMissing, WarpCount} {
		if offered[kind] < 20 {
			t.Errorf("%s: carrying on offered only %d times", kindNames[kind], offered[kind])
		}
	}
	if offered[ShedNotChanged] > 0 {
		t.Error("a pass in the wrong shed must be taken out")
	}
}
