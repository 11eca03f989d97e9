package lesson_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"weftroom/calc/lace"
)

// walked is what a script reads of a step.
type walked struct {
	Row, Move int
	Done      bool
	Pass      struct {
		Shed    int
		Toward  string
		Under   int
		Tension string
		Kind    string
	}
}

func (s *stage) walked(t *testing.T) (w walked) {
	t.Helper()
	raw, err := json.Marshal(s.reply.Data)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, &w); err != nil {
		t.Fatal(err)
	}
	return w
}

// TestStepsMakeThePlan: the moves as they are shown one by one, over more rows
// than a step plans, are woven by the simulated weaver and give the cloth that
// the whole plan gives.
func TestStepsMakeThePlan(t *testing.T) {
	for _, tt := range []struct {
		args string
		ask  lace.Pattern
	}{
		{"ends:25 raised:3 rows:2", lace.Pattern{Ends: 25, Raised: 3, Passes: 3, Rows: 2}},
		{"ends:22 raised:2 rows:11 way:two repeat:halfdrop from:left", lace.Pattern{
			Ends: 22, Raised: 2, Passes: 3, Rows: 11, Way: lace.TwoWay, Repeat: lace.HalfDrop, From: lace.Left,
		}},
		{"ends:23 raised:2 rows:10 passes:5 repeat:halfdrop leftover:both edge:1", lace.Pattern{
			Ends: 23, Raised: 2, Passes: 5, Rows: 10, Repeat: lace.HalfDrop, Leftover: lace.Both, Edge: 1,
		}},
	} {
		t.Run(tt.args, func(t *testing.T) {
			d, err := tt.ask.Design()
			if err != nil {
				t.Fatal(err)
			}
			plan, err := lace.Make(d)
			if err != nil {
				t.Fatal(err)
			}
			shown := &lace.Plan{Design: d}
			for _, row := range plan.Rows {
				row.Moves = nil
				shown.Rows = append(shown.Rows, row)
			}
			s := newStage(t)
			s.play("rae@dm> start " + tt.args)
			steps := 0
			for w := s.walked(t); !w.Done; w = s.walked(t) {
				if steps++; steps > 2000 {
					t.Fatal("it does not end")
				}
				rows := &shown.Rows[w.Row-1].Moves
				if *rows = append(*rows, moveOf(t, w)); len(*rows) != w.Move {
					t.Fatalf("step %d shows move %d of row %d", steps, w.Move, w.Row)
				}
				s.play("rae@dm> " + s.reply.Buttons[0].Line)
			}
			if err := lace.Prove(d, shown); err != nil {
				t.Error(err)
			}
		})
	}
}

func moveOf(t *testing.T, w walked) lace.Move {
	t.Helper()
	sides := map[string]lace.Side{"right": lace.Right, "left": lace.Left}
	turns := map[string]lace.Tension{"plain": lace.Plain, "slack": lace.Slack, "snug": lace.Snug}
	kinds := map[string]lace.Kind{"group": lace.GroupPass, "home": lace.HomePick}
	side, ok1 := sides[w.Pass.Toward]
	turn, ok2 := turns[w.Pass.Tension]
	kind, ok3 := kinds[w.Pass.Kind]
	if !ok1 || !ok2 || !ok3 {
		t.Fatal(fmt.Errorf("no move: %+v", w))
	}
	return lace.Move{Kind: kind, Shed: lace.Shed(w.Pass.Shed), Toward: side, Under: w.Pass.Under, Turn: turn}
}
