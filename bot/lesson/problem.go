package lesson

import (
	"context"
	"math"
	"slices"
	"strconv"
	"strings"

	"weftroom/bot"
	"weftroom/calc"
	"weftroom/calc/lace"
)

// problemData says, for scripts, what may have gone wrong in a row.
type problemData struct {
	Row        int            `json:"row"`
	Move       int            `json:"move"`     // the one she is at; the last forward pass where nobody says
	Expected   int            `json:"expected"` // raised ends under it by the plan
	Ahead      int            `json:"ahead"`    // raised ends before it up to the edge, by the plan
	Exact      bool           `json:"exact"`    // whether each cause gives exactly what is seen
	Causes     []problemCause `json:"causes"`   // likeliest first
	Candidates int            `json:"candidates"`
}

type problemCause struct {
	Kind    string       `json:"kind"`
	Group   *int         `json:"group"` // null where it may be one of several
	Step    *int         `json:"step"`
	By      int          `json:"by"`
	Places  int          `json:"places"`
	Share   float64      `json:"share"`
	Tell    string       `json:"tell"`
	Remedy  string       `json:"remedy"`
	CarryOn bool         `json:"carry_on"`
	And     *problemMore `json:"and"`   // a second mistake; null nearly always
	Exact   bool         `json:"exact"` // whether it gives exactly what is seen, to one who stops where a count cannot be made
	Else    []int        `json:"else"`  // of a warp: other numbers that give it too
}

type problemMore struct {
	Kind string `json:"kind"`
	By   int    `json:"by"`
}

var mistakeNames = [...]string{
	lace.GroupLong: "group_long", lace.GroupShort: "group_short", lace.BackLong: "back_long", lace.BackShort: "back_short",
	lace.ShedNotChanged: "shed_not_changed", lace.PassMissing: "pass_missing", lace.PassExtra: "pass_extra", lace.WarpCount: "warp_count",
}

// seenNames are what may be seen in a group, by lace.Seen.
var seenNames = []string{lace.Doubled: "doubled", lace.Open: "open", lace.Float: "float", lace.Undone: "undone"}

// mostCauses are told to a person, and those just as likely as the last of them,
// if they are likelier than leastShare; scripts get all of them. The share is a
// judgement, so a person hears a word for it.
const (
	mostCauses = 3
	leastShare = 0.01
	asLikely   = 0.95 // of the likeliest
	perhaps    = 0.1
)

func problemCommand(d *Desk) *bot.Command {
	problem := &bot.Command{
		Name: "problem", Aliases: []string{"stuck"},
		Params: slices.Concat(rowCommand(d).Params, []bot.Param{
			{Name: "row", Kind: bot.Count, Default: "1", Min: "1", Max: "1000"},
			{Name: "move", Kind: bot.Count, Min: "1", Max: "200000"},
			{Name: "left", Kind: bot.Count, Min: "0", Max: "2001"},
			{Name: "short", Kind: bot.Count, Min: "1", Max: "2001"},
			{Name: "group", Kind: bot.Count, Min: "1", Max: "2000"},
			{Name: "sees", Kind: bot.Choice, Choices: seenNames[1:]},
		}),
		Examples: []string{
			"problem ends:97 raised:3 left:7",
			"problem ends:24 raised:3 move:7 left:5",
			"problem ends:96 raised:3 row:2 short:1",
			"problem ends:96 raised:3 group:5 sees:doubled",
		},
	}
	problem.Run = func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
		if c.Args.Has("left") && c.Args.Has("short") {
			return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: "problem.both", Field: "short", Example: "left:" + strconv.Itoa(c.Args.Count("left"))}
		}
		seen := observed(c.Args)
		t, rows, err := d.walkedRow(ctx, c, &seen)
		if err != nil {
			return bot.Reply{}, err
		}
		if rows == 0 {
			described := describes(c.Args) && !c.Args.Has("rows")
			var asks *bot.Reply
			t, _, asks, err = d.ownRow(ctx, c, problem)
			switch {
			case err != nil:
				return bot.Reply{}, err
			case asks != nil:
				return *asks, nil
			case !described: // else as many as one likes
				rows = t.pattern.Rows
			}
		}
		if t, err = withNextRow(t, seen.Row, rows); err != nil {
			return bot.Reply{}, err
		}
		found, err := lace.Diagnose(t.plan, seen)
		if err != nil {
			return bot.Reply{}, err
		}
		who, err := d.standing(ctx, c)
		if err != nil {
			return bot.Reply{}, err
		}
		return problemReply(t, seen, found, who.Member.Person != ""), nil
	}
	return problem
}

// describes tells whether anything is said of a plan.
func describes(a bot.Args) bool {
	return slices.ContainsFunc(planReader.Params, func(p bot.Param) bool { return a.Has(p.Name) })
}

// walking is the walk that she is in, where she describes no other plan; ok is
// false where she is in none, or is done.
func (d *Desk) walking(ctx context.Context, c *bot.Call) (s stretch, ok bool, err error) {
	if describes(c.Args) {
		return s, false, nil
	}
	w, err := d.Store.Walk(ctx, c.Request.From)
	if isNone(err) {
		return s, false, nil
	}
	if err != nil {
		return s, false, err
	}
	s, err = d.stretchOf(ctx, c, w)
	return s, err == nil && !s.done(), err
}

// walkedRow is the plan that she is walking, with its rows, where she describes
// no other; seen is then of the row that she is in, unless she says which. There
// are 0 rows where she walks none.
func (d *Desk) walkedRow(ctx context.Context, c *bot.Call, seen *lace.Observation) (t rowText, rows int, err error) {
	s, ok, err := d.walking(ctx, c)
	if !ok {
		return t, 0, err
	}
	if c.Args.Has("row") {
		return s.t, s.all, nil
	}
	w := s.walk
	seen.Row = w.Row
	if !w.ByRow && seen.Move == 0 && seen.Counted() {
		// She is where her count cannot be made; else the stepper is not where she is.
		m := s.row(w.Row).Moves[w.Move-1]
		if m.Kind == lace.GroupPass && (seen.Short > 0 && seen.Short <= m.Under && w.Move > 1 || seen.HasLeft && seen.Left < m.Under) {
			seen.Move = w.Move
		}
	}
	return s.t, s.all, nil
}

// withNextRow plans up to the row after the one that she speaks of, where a
// mistake can be made good. A plan has no more than its rows; 0 for as many as
// one likes.
func withNextRow(t rowText, row, rows int) (rowText, error) {
	if t.laid { // all of it is planned
		return t, nil
	}
	p := t.pattern
	p.Rows = row + 1
	if rows > 0 {
		p.Rows = min(row+1, rows)
	}
	plan, err := planned(p)
	if f, bad := asFault(err); bad && f.Field == "rows" {
		return t, nil
	}
	t.pattern, t.plan = p, plan
	return t, err
}

func observed(a bot.Args) lace.Observation {
	return lace.Observation{
		Row: a.Count("row"), Move: a.Count("move"), HasLeft: a.Has("left"), Left: a.Count("left"), Short: a.Count("short"),
		Group: a.Count("group"), Sees: lace.Seen(max(0, slices.Index(seenNames, orDash(a.Text("sees"))))),
	}
}

// orDash keeps what was not said from being the name of nothing seen.
func orDash(s string) string {
	if s == "" {
		return "-"
	}
	return s
}

func problemReply(t rowText, seen lace.Observation, found lace.Diagnosis, member bool) bot.Reply {
	data := problemData{Row: found.Row, Move: found.Move, Expected: found.Expected, Ahead: found.Ahead, Exact: !slices.ContainsFunc(found.Causes, func(c lace.Cause) bool { return c.Near }), Causes: []problemCause{}, Candidates: found.Candidates}
	r := bot.Reply{Title: t.say("problem.title", found.Row), Body: []bot.Block{bot.Paragraph(t.whatIsSeen(seen, found))}}
	if found.Near && len(found.Causes) > 0 {
		r.Body = append(r.Body, bot.Paragraph(t.say("problem.near")))
	}
	row := t.plan.Rows[found.Row-1]
	shown := 0 // up to which cause
	for i, cause := range found.Causes {
		remedy := found.Remedy(t.plan, cause)
		one := t.problemCause(row, cause, remedy, seen.Counted())
		if cause.Near && !found.Near {
			one.Tell = t.say("tell.near") + " " + one.Tell
		}
		data.Causes = append(data.Causes, one)
		if cause.Share <= leastShare || i >= mostCauses && cause.Share < asLikely*found.Causes[mostCauses-1].Share {
			continue
		}
		shown = i + 1
		how := calc.Key("problem.seldom")
		switch {
		case cause.Share >= asLikely*found.Causes[0].Share:
			how = "problem.likeliest"
		case cause.Share >= perhaps:
			how = "problem.perhaps"
		}
		r.Body = append(r.Body, bot.Heading(t.say("problem.head", i+1, how, t.causeText(cause))), bot.List{t.say("problem.tell", one.Tell), t.say("problem.do", one.Remedy)})
		for _, by := range cause.WarpBy() {
			ends := t.warp.ends + by
			r.Buttons = append(r.Buttons, bot.Button{Label: t.say("problem.button", ends), Line: t.lineFor(ends)})
		}
	}
	if n := firstExact(found); n > 0 && n < shown {
		r.Body = slices.Insert(r.Body, 1, bot.Block(bot.Paragraph(t.say("problem.stopped", n+1))))
	}
	r.Data = data
	switch {
	case found.Candidates == 0:
		r.Body = append(r.Body, bot.Paragraph(t.say("problem.right")))
	case len(found.Causes) == 0:
		r.Body = append(r.Body, bot.Paragraph(t.say("problem.none", found.Candidates)))
	default:
		r.Body = append(r.Body, bot.Paragraph(t.say("problem.how", found.Candidates)))
	}
	if member && found.Candidates > 0 {
		r.Buttons = append(r.Buttons, bot.Button{Label: t.say("mend.ask"), Line: "question " + bot.Written("text", t.whatIsSeen(seen, found))})
	}
	return r
}

// firstExact is where the first cause stands that gives exactly what is seen; 0
// where it is the first of all, or there is none.
func firstExact(found lace.Diagnosis) int {
	return max(0, slices.IndexFunc(found.Causes, func(c lace.Cause) bool { return !c.Near }))
}

// whatIsSeen says what the plan says and what she sees.
func (t rowText) whatIsSeen(seen lace.Observation, found lace.Diagnosis) string {
	side, key := t.plan.Rows[found.Row-1].Start.Other(), calc.Key("problem.expected")
	if found.Back {
		side = side.Other()
	}
	if seen.Move > 0 && found.Move < len(t.plan.Rows[found.Row-1].Groups)*(t.plan.Design.Passes-1)+1 {
		key = "problem.expected_at"
	}
	parts := []string{t.say(key, found.Row, found.Move, sideKey(side), found.Expected)}
	switch {
	case seen.HasLeft && found.Ahead != found.Expected && seen.Left >= found.Expected:
		parts = append(parts, t.count("problem.ahead_said", seen.Left, found.Ahead))
	case seen.HasLeft:
		parts = append(parts, t.count("problem.left_said", seen.Left))
	case seen.Short > 0 && seen.Move > 0:
		parts = append(parts, t.count("problem.short_said", seen.Short))
	case seen.Short > 0:
		parts = []string{t.count("problem.short_in_row", seen.Short, found.Row)}
	}
	if seen.Sees != lace.NothingSeen {
		parts = append(parts, t.say("problem.seen", seen.Group, calc.Key("problem.sees."+seenNames[seen.Sees])))
	}
	return strings.Join(parts, " ")
}

func (t rowText) problemCause(row lace.Row, c lace.Cause, remedy lace.Remedy, atEdge bool) problemCause {
	p := problemCause{
		Kind: mistakeNames[c.Kind], Group: said(c.Group), Step: said(c.Step), By: c.By, Places: c.Places, Share: math.Round(c.Share*1e6) / 1e6,
		Tell: t.tellText(row, c), Remedy: t.remedyText(row, c, remedy, atEdge), CarryOn: remedy.CarryOn,
		Exact: !c.Near, Else: append([]int{}, c.Else...),
	}
	if c.And != nil {
		p.And = &problemMore{mistakeNames[c.And.Kind], c.And.By}
	}
	return p
}

// lineFor asks for the plan of this row on another number of ends.
func (t rowText) lineFor(ends int) string {
	line := "row ends:" + strconv.Itoa(ends)
	for _, p := range slices.Concat(warpParams[2:], patternParams) {
		if t.c.Args.Has(p.Name) {
			line += " " + written(t.c.Args, p)
		}
	}
	return line
}
