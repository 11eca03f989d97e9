package lesson

import (
	"bytes"
	"encoding/json"

	"weftroom/bot"
	"weftroom/calc"
	"weftroom/calc/lace"
)

// walkData is where a weaver is, for scripts.
type walkData struct {
	Row      int             `json:"row"`
	Rows     int             `json:"rows"`
	Move     int             `json:"move"`  // the one to make next; 0 when the piece is done
	Moves    int             `json:"moves"` // of the row
	Pass     json.RawMessage `json:"pass"`  // the move, as row gives it; null when done
	RowsLeft int             `json:"rows_left"`
	ByRow    bool            `json:"by_row"`
	Done     bool            `json:"done"`
	Plan     string          `json:"plan"` // arguments of row that make the whole plan
}

func (s stretch) data() walkData {
	d := walkData{Row: s.walk.Row, Rows: s.all, RowsLeft: s.all - s.walk.Row, ByRow: s.walk.ByRow, Plan: s.walk.Plan, Pass: json.RawMessage("null")}
	if s.done() {
		d.Row, d.RowsLeft, d.Done = s.all, 0, true
		d.Moves = len(s.row(s.all).Moves)
		return d
	}
	row := s.row(s.walk.Row)
	d.Move, d.Moves = s.walk.Move, len(row.Moves)
	d.Pass = bytes.TrimSpace(appendPass(nil, s.walk.Move, row.Moves[s.walk.Move-1]))
	return d
}

// reply shows where she is: what to do next and how it looks when it is right.
// note is said first, "" for nothing.
func (s stretch) reply(note string) bot.Reply {
	r := bot.Reply{Data: s.data()}
	if note != "" {
		r.Body = append(r.Body, bot.Paragraph(note))
	}
	if s.done() {
		r.Title = s.t.say("walk.done")
		r.Body = append(r.Body, bot.Paragraph(s.t.count("walk.done_rows", s.all)), bot.Paragraph(s.t.say("walk.done_next")))
		r.Buttons = []bot.Button{s.button("walk.button.back", "back")}
		return r
	}
	row := s.row(s.walk.Row)
	if s.walk.ByRow {
		r.Title = s.t.say("walk.title_row", s.walk.Row, s.all)
		r.Body = append(r.Body, bot.Paragraph(s.t.groups(row)))
		if surprise := s.t.surprise(row); surprise != "" {
			r.Body = append(r.Body, bot.Paragraph(surprise))
		}
		r.Body = append(r.Body, s.t.steps(row), bot.Paragraph(s.rowsLeft()))
	} else {
		r.Title = s.t.say("walk.title", s.walk.Row, s.all, s.walk.Move, len(row.Moves))
		r.Body = append(r.Body, bot.Steps{s.t.step(row, s.walk.Move)}, bot.Paragraph(s.looks(row)), bot.Paragraph(s.left(row)))
	}
	r.Buttons = []bot.Button{s.button("walk.button.next", "next")}
	if s.walk.Row > 1 || s.walk.Move > 1 {
		r.Buttons = append(r.Buttons, s.button("walk.button.back", "back"))
	}
	return r
}

func (s stretch) button(label calc.Key, command string) bot.Button {
	return bot.Button{Label: s.t.say(label), Line: command + " from:" + s.here()}
}

// left is what is still to do.
func (s stretch) left(row lace.Row) string {
	left := len(row.Moves) - s.walk.Move
	if left == 0 {
		return s.t.say("walk.left_none") + " " + s.rowsLeft()
	}
	return s.t.count("walk.left", left) + " " + s.rowsLeft()
}

func (s stretch) rowsLeft() string {
	if s.all == s.walk.Row {
		return s.t.say("walk.last_row")
	}
	return s.t.count("walk.rows_left", s.all-s.walk.Row)
}

// looks says how the group looks when the move has come right.
func (s stretch) looks(row lace.Row) string {
	p := s.t.plan.Design.Passes
	move, groups := s.walk.Move, len(row.Groups)
	m := row.Moves[move-1]
	group := min((move-1)/(p-1), groups-1) + 1
	pass := (move-1)%(p-1) + 1
	far, near := sideKey(row.Start.Other()), sideKey(row.Start)
	switch {
	case m.Kind == lace.HomePick:
		return s.t.say("walk.looks.home", near)
	case move == groups*(p-1)+1:
		return s.t.say("walk.looks.last", far, m.Under+1)
	case pass == 1 && group == 1:
		return s.t.say("walk.looks.first", groups, p)
	case pass == 1 && group == groups:
		return s.t.say("walk.looks.far", group, far, p)
	case pass == 1:
		return s.t.say("walk.looks.on", group, group-1, p)
	case m.Toward == row.Start && group == 1:
		return s.t.say("walk.looks.back_edge", pass, p, near)
	case m.Toward == row.Start:
		return s.t.say("walk.looks.back", group, pass, p, group-1)
	}
	return s.t.say("walk.looks.forth", group, pass, p)
}

// inAnother is for someone who asks for another plan before hers is done.
func (s stretch) inAnother(asked string) bot.Reply {
	line := "start again:yes"
	if asked != "" {
		line += " " + asked
	}
	return bot.Reply{
		Title: s.t.say("walk.in_another"),
		Body:  []bot.Block{bot.Paragraph(s.t.say("walk.in_another_at", s.walk.Row, s.all, s.walk.Move))},
		Buttons: []bot.Button{
			{Label: s.t.say("walk.button.go_on"), Line: "where"},
			{Label: s.t.say("walk.button.new"), Line: line},
		},
		Data: s.data(),
	}
}
