package lesson

import (
	"context"
	"slices"
	"strconv"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/lace"
	"weftroom/calc/measure"
)

// Sentences of replan, beside those of its answers.
const (
	keyReplanNothing calc.Key = "replan.nothing"  // no arguments: she must say what is changed
	keyReplanDone    calc.Key = "replan.done"     // no arguments: no row is left
	keyReplanMidRow  calc.Key = "replan.mid_row"  // the row that she is in the middle of
	keyReplanHome    calc.Key = "replan.way_home" // the row, which is a journey home
	keyReplanSkip    calc.Key = "replan.skip"     // the rows given, the most that may be left out
	keyReplanLast    calc.Key = "replan.last"     // no arguments: the last row cannot be left out
	keyReplanSide    calc.Key = "replan.side"     // no arguments: where the rightmost end sits must be known
	keyReplanDesign  calc.Key = "replan.design"   // the ends given, those that the rows need
)

// replanData is a change of a plan in the middle of it, for scripts.
type replanData struct {
	Changed   bool    `json:"changed"` // false while she is asked whether she is sure
	From      int     `json:"from"`    // the first row that is planned anew
	Rows      int     `json:"rows"`    // of the whole piece, as changed
	Groups    [][]int `json:"groups"`  // pairs of ends per group of the rows from there on, until they begin again
	Borders   int     `json:"borders"` // of the first of them
	LinesUp   int     `json:"lines_up"`
	Symmetric bool    `json:"symmetric"`
	Was       bool    `json:"was_symmetric"`
	LeftOut   int     `json:"left_out"` // rows, together
}

func replanCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "replan", Changes: true,
		Params: []bot.Param{
			{Name: "raised", Kind: bot.Count, Min: "2", Max: "2000"},
			{Name: "edge", Kind: bot.Count, Min: "0", Max: "2000"},
			{Name: "ends", Kind: bot.Count, Min: minEnds, Max: maxEnds},
			{Name: "skip", Kind: bot.Count, Min: "1", Max: "999"},
			fromParam, sure,
		},
		Examples: []string{"replan raised:4", "replan edge:2", "replan ends:96", "replan skip:1", "replan raised:4 sure:yes"},
		Run:      d.replanWalk,
	}
}

// replanWalk plans the rest of the piece that she walks anew, once she has read
// what that changes.
func (d *Desk) replanWalk(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	s, err := d.walked(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	if s.isPast(c.Args.Text("from")) {
		return instead(s.reply(c.Say("walk.already"))), nil
	}
	if err := s.mayChange(c.Args); err != nil {
		return bot.Reply{}, err
	}
	change := lace.Change{Raised: c.Args.Count("raised"), Edge: -1, Ends: c.Args.Count("ends"), Skip: c.Args.Count("skip")}
	if c.Args.Has("edge") {
		change.Edge = c.Args.Count("edge")
	}
	rows, err := s.wholeDesign()
	if err != nil {
		return bot.Reply{}, err
	}
	whole := s.t.pattern
	whole.Rows = s.all
	got, err := lace.Replan(whole, rows, s.walk.Row-1, change)
	if err != nil {
		return bot.Reply{}, s.tooNarrow(err, c.Args)
	}
	next, err := d.stretchOf(ctx, c, s.changedBy(got, d.Now().Truncate(time.Millisecond)))
	if err != nil {
		return bot.Reply{}, err
	}
	if !c.Args.Has("sure") {
		return s.askChange(c, next, got), nil
	}
	if err := d.Store.KeepWalk(ctx, c.Request.From, next.walk); err != nil {
		return bot.Reply{}, err
	}
	r := next.reply(c.Say("replan.changed"))
	r.Data = next.replanData(got, s.all, true)
	return r, nil
}

// mayChange refuses what names no change, and places where none can begin.
func (s stretch) mayChange(a bot.Args) error {
	row := s.walk.Row
	if !slices.ContainsFunc([]string{"raised", "edge", "ends", "skip"}, a.Has) {
		return missing(keyReplanNothing, "raised", "replan raised:4")
	}
	if s.done() {
		return &calc.Fault{Code: calc.Conflict, Key: keyReplanDone, Example: "start again:yes"}
	}
	if s.walk.Move > 1 {
		return &calc.Fault{Code: calc.Conflict, Key: keyReplanMidRow, Args: []any{row}, Example: "goto row:" + strconv.Itoa(row)}
	}
	p := s.t.pattern
	if p.Way == lace.TwoWay && row%2 == 0 {
		return &calc.Fault{Code: calc.Conflict, Key: keyReplanHome, Args: []any{row}, Example: "next"}
	}
	if most := s.all - row; a.Count("skip") > most {
		if most == 0 {
			return &calc.Fault{Code: calc.Conflict, Key: keyReplanLast, Field: "skip", Example: "back"}
		}
		return &calc.Fault{Code: calc.OutOfRange, Key: keyReplanSkip, Field: "skip", Args: []any{a.Count("skip"), most}, Example: "skip:" + strconv.Itoa(most)}
	}
	if a.Has("ends") && a.Count("ends")%2 != p.Ends%2 && p.From == lace.Left && s.t.warp.loom.Rightmost == "" {
		return missing(keyReplanSide, "rightmost", "loom rightmost:hole")
	}
	return nil
}

// tooNarrow says of a design that does not fit on fewer ends as it was laid out
// that it can be laid out on them anew: who weaves one has listed no groups.
func (s stretch) tooNarrow(err error, said bot.Args) error {
	f, bad := asFault(err)
	if !bad || f.Key != lace.KeyListWide || !said.Has("ends") {
		return err
	}
	asked, err := startReader.ArgsOf(s.walk.Asked, measure.Imperial)
	if err != nil || asked.Has("groups") || !asked.Has("design") && s.walk.Session == "" {
		return f
	}
	line := "start "
	if asked.Has("design") {
		line += bot.Written("design", asked.Text("design")) + " "
	}
	return &calc.Fault{
		Code: calc.Conflict, Key: keyReplanDesign, Field: "ends", Args: []any{said.Count("ends"), f.Args[3]},
		Example: line + bot.Written("ends", strconv.Itoa(said.Count("ends"))) + " again:yes",
	}
}

// wholeDesign is every row of the piece that she walks.
func (s stretch) wholeDesign() ([]lace.Groups, error) {
	if s.t.laid {
		return s.t.plan.Design.Rows, nil
	}
	p := s.t.pattern
	p.Rows = s.all
	d, err := p.Design()
	return d.Rows, err
}

// changedBy is her walk in the changed plan, at the row where she is.
func (s stretch) changedBy(got lace.Replanned, now time.Time) class.Walk {
	w, t := s.walk, s.t
	if r := t.warp.loom.Rightmost; got.Pattern.Ends%2 != t.pattern.Ends%2 && got.Pattern.From == lace.Left && r != "" {
		t.warp.loom.Rightmost = besides[r]
	}
	t.pattern = got.Pattern
	w.Plan = frozenOn(t, string(t.warp.loom.Rightmost))
	w.Laid, w.Changes, w.Moved = nil, w.Changes+1, now
	rows := got.Plan.Design.Rows
	for _, part := range [][]lace.Groups{rows[:w.Row-1], rows[w.Row-1:]} {
		if len(part) > 0 {
			w.Laid = append(w.Laid, class.Laid{Groups: repeating(part), Rows: len(part)})
		}
	}
	return w
}

// besides is where the rightmost end sits when there is one end more or fewer at
// that side.
var besides = map[class.Rightmost]class.Rightmost{class.Hole: class.Slot, class.Slot: class.Hole, class.Shaft1: class.Shaft2, class.Shaft2: class.Shaft1}

// repeating are the rows after which rows begin again.
func repeating(rows []lace.Groups) [][]int {
	n := 1
	for ; n < len(rows); n++ {
		if repeatsAfter(rows, n) {
			break
		}
	}
	var out [][]int
	for _, row := range rows[:n] {
		out = append(out, row)
	}
	return out
}

func repeatsAfter(rows []lace.Groups, n int) bool {
	for i := n; i < len(rows); i++ {
		if !slices.Equal(rows[i], rows[i-n]) {
			return false
		}
	}
	return true
}

// stretchLaid plans a piece whose rows are kept, all of it: the row of a change is
// proven on the rows below it.
func stretchLaid(p lace.Pattern, parts []class.Laid) (s stretch, err error) {
	d := lace.Design{Ends: p.Ends, From: p.From, Way: p.Way, Passes: p.Passes}
	for _, part := range parts {
		for i := range part.Rows {
			d.Rows = append(d.Rows, part.Groups[i%len(part.Groups)])
		}
	}
	s.t.pattern, s.t.laid = p, true
	s.all, s.cycle = len(d.Rows), len(d.Rows)
	s.t.plan, err = plannedRows(d)
	return s, err
}

// askChange says what would change.
func (s stretch) askChange(c *bot.Call, next stretch, got lace.Replanned) bot.Reply {
	row := s.walk.Row
	list := bot.List{c.Say("replan.from", row, next.all), next.t.groups(next.row(row))}
	if woven := row - 1; woven > 0 {
		list = append(list, c.Texts.Count(c.Units, "replan.woven", woven))
	}
	if next.all != s.all {
		list = append(list, c.Say("replan.rows", next.all, s.all))
	}
	if got.Further > 0 {
		list = append(list, c.Texts.Count(c.Units, "replan.further", got.Further))
	}
	switch {
	case got.LinesUp == got.Borders:
		list = append(list, c.Say("replan.all_line_up"))
	default:
		list = append(list, c.Say("replan.line_up", got.LinesUp, got.Borders))
	}
	switch {
	case got.Is:
		list = append(list, c.Say("replan.symmetric"))
	case got.Was:
		list = append(list, c.Say("replan.not_symmetric"))
	}
	if c.Args.Has("ends") {
		list = append(list, c.Say("replan.ends", next.t.pattern.Ends, s.t.pattern.Ends, sideKey(next.t.pattern.From.Other())))
	}
	line := "replan"
	for _, name := range []string{"raised", "edge", "ends", "skip"} {
		if c.Args.Has(name) {
			line += " " + name + ":" + strconv.Itoa(c.Args.Count(name))
		}
	}
	return bot.Reply{
		Title: c.Say("replan.title"),
		Body:  []bot.Block{list, bot.Paragraph(c.Say("replan.proven"))},
		Buttons: []bot.Button{
			{Label: c.Say("replan.button"), Line: line + " from:" + s.here() + " sure:yes"},
			{Label: c.Say("walk.button.go_on"), Line: "where"},
		},
		Data: next.replanData(got, s.all, false),
	}
}

func (s stretch) replanData(got lace.Replanned, before int, changed bool) replanData {
	data := replanData{
		Changed: changed, From: s.walk.Row, Rows: s.all, Borders: got.Borders, LinesUp: got.LinesUp,
		Symmetric: got.Is, Was: got.Was, LeftOut: before - s.all,
	}
	data.Groups = s.walk.Laid[len(s.walk.Laid)-1].Groups
	return data
}
