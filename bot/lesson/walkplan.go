package lesson

import (
	"context"
	"strconv"
	"strings"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc/lace"
)

// stretch is a walk with as much of its plan as there are different rows: a step
// must not wait for a thousand rows to be planned and proven.
type stretch struct {
	t     rowText
	walk  class.Walk
	all   int // rows of the whole plan
	cycle int // after how many rows it begins again
}

// planReader reads the arguments that make a plan again.
var planReader = &bot.Command{Name: "row", Params: append(append([]bot.Param{}, warpParams...), append(keptParams(), bot.Param{Name: "work", Kind: bot.Choice, Choices: []string{"tonight", "none"}})...)}

// stretchOf makes the plan of a walk again. c keeps its own arguments.
func (d *Desk) stretchOf(ctx context.Context, c *bot.Call, w class.Walk) (stretch, error) {
	kept, err := walkKept(w.Plan, w.Laid)
	if err != nil {
		return stretch{}, err
	}
	own := *c
	own.Args = kept.args
	warp, err := warpOf(ctx, &own, d.Store)
	if err != nil {
		return stretch{}, err
	}
	s := kept.stretch
	s.walk = w
	s.t.c, s.t.warp, s.t.sheds = &own, warp, shedsOf(warp.loom.Rightmost)
	return s, nil
}

// stretchAlong plans a pattern as far as it has rows that differ: those of its
// cycle and one more, since the first row of a piece is like no other.
func stretchAlong(p lace.Pattern) (s stretch, err error) {
	if err := p.Check(); err != nil {
		return s, err
	}
	s.all, s.cycle = p.Rows, p.Cycle()
	p.Rows = min(p.Rows, s.cycle+1)
	s.t.pattern = p
	s.t.plan, err = planned(p)
	return s, err
}

func (s stretch) rows() int { return s.all }

// row is row number n of the plan, under the number of the first row like it, by
// which the words find its groups.
func (s stretch) row(n int) lace.Row {
	like := n
	if n > s.cycle {
		like = (n-1)%s.cycle + 1
		if like == 1 {
			like += s.cycle
		}
	}
	return s.t.plan.Rows[like-1]
}

// moves is how many there are in the row that she is in.
func (s stretch) moves() int { return len(s.row(s.walk.Row).Moves) }

func (s stretch) done() bool { return s.walk.Row > s.all }

// goOn is past the move, or the row, that she was shown.
func (s *stretch) goOn(now time.Time) {
	if !s.walk.ByRow && s.walk.Move < s.moves() {
		s.walk.Move++
		return
	}
	begun := s.walk.Begun
	if n := len(s.walk.Rows); n > 0 {
		begun = s.walk.Rows[n-1].Ended
	}
	s.walk.Rows = append(s.walk.Rows, class.RowTime{Row: s.walk.Row, Begun: begun, Ended: now})
	s.walk.Row, s.walk.Move = s.walk.Row+1, 1
}

// goBack is at the move, or the row, before.
func (s *stretch) goBack() {
	if !s.walk.ByRow && s.walk.Move > 1 {
		s.walk.Move--
		return
	}
	if s.walk.ByRow && s.walk.Move > 1 {
		s.walk.Move = 1
		return
	}
	s.walk.Row--
	if !s.walk.ByRow {
		s.walk.Move = s.moves()
	}
	if n := len(s.walk.Rows); n > 0 && s.walk.Rows[n-1].Row == s.walk.Row {
		s.walk.Rows = s.walk.Rows[:n-1]
	}
}

// here names the place where she is, for the buttons under it: the walk, the row
// and the move.
func (s stretch) here() string {
	return strconv.FormatInt(s.walk.Begun.UnixMilli(), 36) + "." + strconv.Itoa(s.walk.Row) + "." + strconv.Itoa(s.walk.Move) + changesSaid(s.walk.Changes)
}

// changesSaid makes a place in a changed plan another than the same in the plan before.
func changesSaid(n int) string {
	if n == 0 {
		return ""
	}
	return "." + strconv.Itoa(n)
}

// isPast tells of a button that was under another place than where she is now.
// What was typed without a place is always meant.
func (s stretch) isPast(from string) bool {
	from = strings.TrimSpace(from)
	return from != "" && from != s.here()
}
