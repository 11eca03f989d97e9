package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"time"

	"weftroom/bot"
	"weftroom/bot/store"
	"weftroom/calc/lace"
)

type demoCmd struct {
	Files string `default:"out/demo" placeholder:"DIR" help:"Write calendars and other files into this folder."`
}

// student is one member of the invented class, and what she types.
type student struct {
	name, who string
	lines     []string
}

// The class, its people and its village are made up.
var demoClass = []student{
	{"Maren", "rigid heddle, inches, an odd warp, starts from the right", []string{
		`loom kind:"rigid heddle" width:15" heddle:10 ends:151 rightmost:hole from:right`,
		`row raised:3 rows:4`,
		`warp wide:12 1/2in long:60in fringe:5in ppi:10 yarn:"8/2 cotton"`,
	}},
	{"Teodor", "rigid heddle, centimetres, starts from the left", []string{
		`loom kind:"rigid heddle" width:38cm heddle:40/10cm rightmost:slot from:left`,
		`row raised:4 rows:4 repeat:halfdrop leftover:both`,
		`warp wide:32cm long:1,6m fringe:12cm ppi:40/10cm yarn:"Nm 16/2" takeup:auto`,
	}},
	{"Yori", "table loom, two shafts, inches, two-way rows", []string{
		`loom kind:"table loom" sett:20 width:4 7/8in ends:98 rightmost:shaft1 from:right`,
		`row raised:3 way:two rows:2 edge:2`,
		`warp wide:4in long:50in items:3 hem:1in ppi:18 yarn:"8/2 cotton" shrink:8%`,
	}},
	{"Paloma", "floor loom, two shafts, centimetres, left-handed, long slits", []string{
		`loom kind:"floor loom" sett:60/10cm width:24,5cm rightmost:shaft2 from:left units:centimetres`,
		`row raised:5 passes:5 rows:2`,
		`warp wide:20cm long:90cm ppi:60/10cm yarn:"16/2 linen" waste:80cm`,
	}},
	{"Brynn", "a narrow rigid heddle, inches, left-handed, does not know how her rightmost end sits", []string{
		`loom kind:"rigid heddle" width:8in heddle:7.5 from:left`,
		`loom rightmost:slot`,
		`row raised:3 rows:2`,
		`warp wide:7in long:70in fringe:6in ppi:8 yarn:"230 m/100g"`,
	}},
}

// Run plays the evening in which every loom is reported, and then the course.
func (c demoCmd) Run(std *streams) error {
	if err := playLooms(std); err != nil {
		return err
	}
	return playCourse(std.out, c.Files)
}

func playLooms(std *streams) error {
	start := time.Now()
	d := newDispatcher(store.NewMemory(), slog.New(slog.NewTextHandler(std.err, nil)))
	var proof tally
	fmt.Fprintln(std.out, "The lace class of Tarnholm (invented): five looms, no two alike, one lesson.")
	for _, s := range demoClass {
		fmt.Fprintf(std.out, "\n%s\n%s: %s\n%s\n", rule, s.name, s.who, rule)
		if err := s.play(std.out, d, &proof); err != nil {
			return err
		}
	}
	fmt.Fprintf(std.out, "\n%s\nProven: %d row plans of %d students, woven again here from the machine-readable answers: "+
		"%d rows, %d moves, %d ends crossed; every row ended at its selvedge with every end picked the same number of times (%.1f s).\n",
		rule, proof.plans, len(demoClass), proof.rows, proof.moves, proof.crossings, time.Since(start).Seconds())
	return nil
}

const rule = "=============================================================================="

// play types a student's lines and shows what comes back. The plan that comes
// with a loom is only counted: the row that she asks for next says it better.
func (s student) play(out io.Writer, d *bot.Dispatcher, proof *tally) error {
	me := bot.Account{Chat: "demo", User: s.name}
	for i, line := range s.lines {
		fmt.Fprintf(out, "\n%s> %s\n\n", s.name, line)
		r := d.Handle(context.Background(), bot.Request{
			ID: fmt.Sprintf("%s-%d", s.name, i), From: me, In: bot.Place{Chat: "demo", Room: s.name}, Direct: true, Line: line,
		})
		if r.Problem != nil {
			return fmt.Errorf("%s asked %q: %s", s.name, line, r.Problem.Sentence())
		}
		if err := proof.weave(r); err != nil {
			return fmt.Errorf("%s asked %q: %w", s.name, line, err)
		}
		if r.Command == "loom" {
			r.Body, r.Buttons = untilPlan(r.Body), nil
		}
		fmt.Fprint(out, bot.Plain(r))
	}
	return nil
}

func untilPlan(body []bot.Block) []bot.Block {
	for i, b := range body {
		if _, ok := b.(bot.Heading); ok {
			return body[:i]
		}
	}
	return body
}

// tally is what the simulated weaver has woven from the data of the answers.
type tally struct{ plans, rows, moves, crossings int }

// woven is as much of a row plan's data as a weaver needs.
type woven struct {
	Ends int `json:"ends"`
	Rows []struct {
		Start  string `json:"start"`
		Way    string `json:"way"`
		Passes []struct {
			Shed   lace.Shed `json:"shed"`
			Toward string    `json:"toward"`
			Under  int       `json:"under"`
		} `json:"passes"`
	} `json:"rows"`
}

// weave reads a plan back from an answer's data, follows it and looks at the cloth.
func (t *tally) weave(r bot.Reply) error {
	raw, err := json.Marshal(r.Data)
	if err != nil {
		return err
	}
	var w woven
	if r.Command != "row" {
		return nil
	}
	if err := json.Unmarshal(raw, &w); err != nil {
		return err
	}
	rows := make([]lace.Row, len(w.Rows))
	for i, row := range w.Rows {
		for _, p := range row.Passes {
			rows[i].Moves = append(rows[i].Moves, lace.Move{Shed: p.Shed, Toward: side(p.Toward), Under: p.Under})
		}
	}
	cloth, err := lace.Weave(w.Ends, side(w.Rows[0].Start), rows)
	if err != nil {
		return err
	}
	for i, row := range cloth.Rows {
		home := side(w.Rows[i].Start)
		if w.Rows[i].Way == "two" {
			home = home.Other()
		}
		if (home == lace.Right) != (row.EndsAt == 0) || (home == lace.Left) != (row.EndsAt == w.Ends) {
			return fmt.Errorf("row %d ends inside the warp or at the wrong side", i+1)
		}
		for _, n := range row.Picks {
			if n != row.Picks[0] {
				return fmt.Errorf("row %d does not leave the fell level", i+1)
			}
			t.crossings += n
		}
		t.moves += len(rows[i].Moves)
	}
	t.plans++
	t.rows += len(rows)
	return nil
}

func side(name string) lace.Side {
	if name == "left" {
		return lace.Left
	}
	return lace.Right
}
