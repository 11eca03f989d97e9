package lesson

import (
	linked "container/list"
	"encoding/binary"
	"sync"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc/lace"
	"weftroom/calc/measure"
)

// Who walks a plan asks for the same plan at each step, and the members of a class
// for much the same ones. So what was planned and proven last is kept, and what was
// read of the line that is kept of a walk. All of it is read-only.
var (
	plansKept = newLast[*lace.Plan](64, mostMoves)
	walksKept = newLast[keptWalk](64, mostMoves)
)

// mostMoves are kept of all plans together, about 16 MB.
const mostMoves = 400_000

// keptWalk is the plan of a walk, of whomever.
type keptWalk struct {
	args bot.Args
	stretch
}

// planned plans, and so proves, a pattern, or takes the plan that was made of it.
func planned(p lace.Pattern) (*lace.Plan, error) {
	return plansKept.get(patternSeal(p), func() (*lace.Plan, int, error) {
		d, err := p.Design()
		if err != nil {
			return nil, 0, err
		}
		return plannedDesign(d)
	})
}

// plannedRows does so for rows that are given one by one.
func plannedRows(d lace.Design) (*lace.Plan, error) {
	seal := "rows" + patternSeal(lace.Pattern{Ends: d.Ends, From: d.From, Way: d.Way, Passes: d.Passes, Listed: d.Rows})
	return plansKept.get(seal, func() (*lace.Plan, int, error) { return plannedDesign(d) })
}

func plannedDesign(d lace.Design) (*lace.Plan, int, error) {
	plan, err := lace.Make(d)
	if err != nil {
		return nil, 0, err
	}
	return plan, movesOf(plan), nil
}

// movesOf are the moves that a plan holds.
func movesOf(plan *lace.Plan) (moves int) {
	for i, row := range plan.Rows {
		if moves++; i == 0 || &row.Moves[0] != &plan.Rows[i-1].Moves[0] { // rows that are alike share their moves
			moves += len(row.Moves)
		}
	}
	return moves
}

// patternSeal is a text that only this pattern has.
func patternSeal(p lace.Pattern) string {
	var b []byte
	for _, n := range []int{p.Ends, p.Raised, p.Passes, int(p.Way), int(p.From), p.Rows, int(p.Leftover), p.Edge, int(p.Repeat)} {
		b = binary.AppendVarint(b, int64(n))
	}
	for _, row := range p.Listed {
		b = appendGroups(b, row)
	}
	return string(b)
}

func appendGroups(b []byte, row []int) []byte {
	b = binary.AppendVarint(b, int64(len(row)))
	for _, g := range row {
		b = binary.AppendVarint(b, int64(g))
	}
	return b
}

// walkKept is the plan that a line makes, with the rows that are kept beside it
// where the plan was changed on the way.
func walkKept(line string, laid []class.Laid) (keptWalk, error) {
	seal := line + laidSeal(laid)
	return walksKept.get(seal, func() (k keptWalk, moves int, err error) {
		if k.args, err = planReader.ArgsOf(line, measure.Imperial); err != nil {
			return k, 0, err
		}
		warp, err := measured(warpSaid(k.args, class.Loom{From: k.args.Text("from")}))
		if err != nil {
			return k, 0, err
		}
		p, err := patternOf(k.args, warp)
		if err != nil {
			return k, 0, err
		}
		if len(laid) > 0 {
			k.stretch, err = stretchLaid(p, laid)
		} else {
			k.stretch, err = stretchAlong(p)
		}
		if err != nil {
			return k, 0, err
		}
		return k, movesOf(k.t.plan) + len(seal), nil
	})
}

// laidSeal is a text that only these rows have, "" for none.
func laidSeal(laid []class.Laid) string {
	var b []byte
	for _, part := range laid {
		b = binary.AppendVarint(append(b, 0), int64(part.Rows))
		for _, row := range part.Groups {
			b = appendGroups(b, row)
		}
	}
	return string(b)
}

// last keeps what was asked for last, up to so many things and so much of them in
// all. It is safe for use by several goroutines; what two ask for at once may be
// made twice.
type last[V any] struct {
	most, weighs int

	mu     sync.Mutex
	things map[string]*linked.Element // of *thing[V]
	order  *linked.List               // the one asked for last is first
	weight int
}

type thing[V any] struct {
	seal   string
	value  V
	weight int
}

func newLast[V any](most, weighs int) *last[V] {
	return &last[V]{most: most, weighs: weighs, things: map[string]*linked.Element{}, order: linked.New()}
}

// get gives the thing of a seal, which is made, and its weight told, if it is not
// there. What weighs more than all may is not kept, nor what could not be made.
func (l *last[V]) get(seal string, made func() (V, int, error)) (V, error) {
	l.mu.Lock()
	if e := l.things[seal]; e != nil {
		l.order.MoveToFront(e)
		l.mu.Unlock()
		return e.Value.(*thing[V]).value, nil
	}
	l.mu.Unlock()
	value, weight, err := made()
	if err == nil && weight <= l.weighs {
		l.keep(&thing[V]{seal, value, weight})
	}
	return value, err
}

func (l *last[V]) keep(t *thing[V]) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.things[t.seal] != nil {
		return
	}
	l.things[t.seal] = l.order.PushFront(t)
	l.weight += t.weight
	for l.weight > l.weighs || len(l.things) > l.most {
		oldest := l.order.Remove(l.order.Back()).(*thing[V])
		delete(l.things, oldest.seal)
		l.weight -= oldest.weight
	}
}
