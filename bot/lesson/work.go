package lesson

import (
	"cmp"
	"context"
	"slices"
	"strconv"
	"strings"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/lace"
	"weftroom/calc/measure"
)

// Sentences about the work of an evening.
const (
	keyWorkWhat    calc.Key = "work.what"    // no arguments: what is to be woven
	keyWorkSample  calc.Key = "work.sample"  // the ends of the sample warp, what is wrong there
	keyWorkOne     calc.Key = "work.one"     // no arguments: no border, and so no hole
	keyWorkSession calc.Key = "work.session" // what was written in place of a number or next
	keyNoWork      calc.Key = "work.none"    // no arguments
)

// techniques are those that a plan can be made for.
var techniques = []string{"spanish lace"}

// workData is the work of an evening for scripts.
type workData struct {
	Technique string  `json:"technique"`
	Row       string  `json:"row"`  // arguments of the command row
	Yarn      *string `json:"yarn"` // the course's unless the session has its own
}

func workDataOf(k class.Class, s class.Session) *workData {
	if s.Work.None() {
		return nil
	}
	return &workData{Technique: techniques[0], Row: s.Work.Row, Yarn: said(workYarn(k, s))}
}

func workYarn(k class.Class, s class.Session) string { return cmp.Or(s.Work.Yarn, k.Yarn) }

func sessionWork(d *Desk) *bot.Command {
	params := []bot.Param{{Name: "session", Kind: bot.Words, First: true, Default: "next", Max: "20"}}
	for _, p := range patternParams {
		p.Default = "" // only what the teacher says is kept
		params = append(params, p)
	}
	params = append(params,
		bot.Param{Name: "technique", Kind: bot.Choice, Default: techniques[0], Choices: techniques},
		bot.Param{Name: "yarn", Kind: bot.Words, Max: "60"},
		bot.Param{Name: "clear", Kind: bot.Choice, Choices: []string{"yes"}})
	return &bot.Command{
		Name: "work", Who: bot.Teacher, Changes: true,
		Params: params,
		Examples: []string{
			`session work next raised:3 passes:5 rows:4 yarn:"8/2 cotton"`,
			"session work 2 raised:4 way:two repeat:halfdrop rows:2",
			"session work 2 clear:yes",
		},
		Run: d.setWork,
	}
}

// setWork keeps what an evening is about, once it has been planned on a sample
// warp: what cannot be woven is refused now and not by each student's loom.
func (d *Desk) setWork(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	who, err := d.inClass(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	session, err := d.sessionWritten(ctx, who.Class, c.Args.Text("session"))
	if err != nil {
		return bot.Reply{}, err
	}
	if err := d.changeable(session); err != nil {
		return bot.Reply{}, err
	}
	if session.Work, err = workSaid(c.Args, session.Work); err != nil {
		return bot.Reply{}, err
	}
	sample, err := d.trial(ctx, who.Class, session.Work)
	if err != nil {
		return bot.Reply{}, err
	}
	if err := d.Store.PutSession(ctx, session); err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{
		Title: c.Say("work.set", headline(c, who.Class, session)),
		Body:  []bot.Block{bot.Paragraph(whenSaid(c, echoOf(session, who.Zone())) + ".")},
		Data:  sessionsData(c, who, []class.Session{session}),
	}
	if session.Work.None() {
		reply.Body = append(reply.Body, bot.Paragraph(c.Say("work.cleared")))
		return reply, nil
	}
	reply.Body = append(reply.Body, bot.List{
		c.Say("session.work", workLine(c, who.Class, session)),
		c.Say("work.proven", sample),
		c.Say("work.row"), c.Say("work.reminders"),
	})
	if c.Args.Has("design") {
		theirs, err := d.designTheirs(ctx, c, who, c.Args.Text("design"))
		if err != nil {
			return bot.Reply{}, err
		}
		reply.Body = append(reply.Body, theirs...)
	}
	return reply, nil
}

// sessionWritten is the session of a number, or the one that is going on or
// comes next.
func (d *Desk) sessionWritten(ctx context.Context, k class.Class, text string) (class.Session, error) {
	text = strings.ToLower(strings.TrimSpace(text))
	if slices.Contains([]string{"next", "tonight", "now"}, text) {
		return d.sessionOrNext(ctx, k, 0)
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 {
		return class.Session{}, &calc.Fault{Code: calc.BadValue, Key: keyWorkSession, Field: "session", Args: []any{cleanLine(text, 20)}, Example: "session:next"}
	}
	s, err := d.sessionMeant(ctx, k, n)
	if f, bad := asFault(err); bad && f.Field == "number" {
		f.Field = "session"
		return s, f
	}
	return s, err
}

// workSaid is the work that the arguments say. A new row replaces the one of
// before whole; the yarn stays unless another is named.
func workSaid(a bot.Args, before class.Work) (class.Work, error) {
	if a.Has("clear") {
		return class.Work{}, nil
	}
	work := before
	if row := rowSaid(a); row != "" {
		work.Row = row
	}
	if a.Has("yarn") {
		work.Yarn = orNothing(cleanLine(a.Text("yarn"), maxName))
		if err := knownYarn(work.Yarn); err != nil {
			return before, err
		}
	}
	if work.Row == "" {
		return before, missing(keyWorkWhat, "raised", "session work next raised:3 rows:4")
	}
	return work, nil
}

// rowSaid writes the arguments of a pattern that were given, each in its plain
// form.
func rowSaid(a bot.Args) string {
	var out []string
	for _, p := range patternParams {
		switch {
		case !a.Has(p.Name):
		case p.Kind == bot.Count:
			out = append(out, bot.Written(p.Name, strconv.Itoa(a.Count(p.Name))))
		case p.Name == "groups":
			out = append(out, groupsWritten(a))
		case p.Kind == bot.Choice:
			out = append(out, bot.Written(p.Name, a.Text(p.Name)))
		default:
			out = append(out, written(a, p))
		}
	}
	return strings.Join(out, " ")
}

// written is an argument as it was given, so that it can be read again by
// someone with other units: a bare number of threads was one per inch.
func written(a bot.Args, p bot.Param) string {
	if p.Name == "groups" {
		return groupsWritten(a)
	}
	text := cleanLine(a.Raw(p.Name), 200)
	if p.Kind == bot.Density && measure.UnitsOf(text) == measure.Unset {
		text += "/in"
	}
	return bot.Written(p.Name, text)
}

// usualSample is the warp on which work is tried: as wide as a scarf, which
// most groups fit.
const usualSample = 120

// sampleEnds is the sample warp for a pattern; one with large groups, or with
// long rows of them, needs more ends than usual.
func sampleEnds(p lace.Pattern) int {
	widest := 3 * p.Raised
	for _, row := range p.Listed {
		needs := 0
		for _, g := range row {
			needs += g
		}
		widest = max(widest, needs)
	}
	return min(max(usualSample, 2*(widest+2*p.Edge)), 4000)
}

// trial plans the work of a class, and so weaves it in simulation, on a sample
// warp, of which it tells the ends.
func (d *Desk) trial(ctx context.Context, k class.Class, work class.Work) (ends int, err error) {
	if work.None() {
		return 0, nil
	}
	a, p, err := patternIn(work.Row)
	if err != nil {
		return 0, err
	}
	p.Ends = sampleEnds(p)
	if a.Has("design") {
		if p, err = d.sampleDesign(ctx, k, a); err != nil {
			return 0, err
		}
	}
	plan, err := planned(p)
	if err == nil && !bordered(plan) {
		err = &calc.Fault{Code: calc.Conflict, Key: keyWorkOne, Field: "raised"}
	}
	if err == nil {
		_, err = lace.Weft(plan, usualHeddle, a.Density("ppi"), max(a.Count("strands"), 1))
	}
	if f, bad := asFault(err); bad {
		return 0, &calc.Fault{Code: f.Code, Key: keyWorkSample, Field: f.Field, Args: []any{p.Ends, f}, Example: "session work next raised:3 rows:4"}
	}
	return p.Ends, err
}

// workLine is the work of an evening in one line, "" when none is set.
func workLine(c *bot.Call, k class.Class, s class.Session) string {
	if s.Work.Row == "" {
		return ""
	}
	a, p, err := patternIn(s.Work.Row)
	if err != nil { // kept by a version that knew other arguments
		return s.Work.Row
	}
	way := calc.Key("row.way.one")
	if p.Way == lace.TwoWay {
		way = "row.way.two"
	}
	rows := c.Texts.Count(c.Units, "row.rows", p.Rows)
	parts := []string{c.Say("work.line", p.Raised, p.Passes, way, rows)}
	if a.Has("design") {
		parts = designLineSaid(c, a)
	}
	if len(p.Listed) > 0 {
		parts[0] = c.Say("work.line_listed", listedSaid(c, p), p.Passes, way, rows)
	}
	if p.Repeat == lace.HalfDrop {
		parts = append(parts, c.Say("work.halfdrop"))
	}
	if p.Edge > 0 {
		parts = append(parts, c.Texts.Count(c.Units, "work.edge", p.Edge))
	}
	if p.Leftover == lace.Both {
		parts = append(parts, c.Say("work.both"))
	}
	if a.Has("strands") {
		parts = append(parts, c.Texts.Count(c.Units, "work.strands", a.Count("strands")))
	}
	if a.Has("ppi") {
		parts = append(parts, c.Say("work.ppi", a.Density("ppi")))
	}
	if y := workYarn(k, s); y != "" {
		parts = append(parts, c.Say("work.yarn", y))
	}
	return strings.Join(parts, "; ")
}

// patternReader reads work that was kept.
var patternReader = &bot.Command{Name: "row", Params: keptParams()}

// patternIn reads the arguments of row that stand for work, and their pattern
// for a warp that is still to be known.
func patternIn(row string) (bot.Args, lace.Pattern, error) {
	a, err := patternReader.ArgsOf(row, measure.Imperial)
	if err != nil {
		return a, lace.Pattern{}, err
	}
	p, err := patternOf(a, theWarp{})
	return a, p, err
}
