package lesson

import (
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

// The heddles taken for granted until she has said hers: the first plan must
// not wait for it.
const (
	usualHeddle       = 10 * measure.PerInch
	usualHeddleMetric = 40 * measure.PerDecimetre
)

// questions are what loom asks, in order. Each is an argument of the command.
var questions = []string{"kind", "width", "heddle", "ends", "rightmost", "from"}

type loomData struct {
	Kind      class.Kind      `json:"kind"`
	WidthM    float64         `json:"width_m"`
	HeddleDPI float64         `json:"heddle_dpi"`
	EPI       float64         `json:"epi"`
	Ends      int             `json:"ends"`
	Counted   bool            `json:"counted"` // the ends are her count, not worked out
	Rightmost class.Rightmost `json:"rightmost"`
	From      string          `json:"from"`
	Asks      string          `json:"asks"` // the next question, "" when all is known
	Row       *rowData        `json:"row"`  // her first plan, null until a width or a count is known
}

func loomCommand(looms class.Looms) *bot.Command {
	return &bot.Command{
		Name: "loom", Changes: true,
		Params: []bot.Param{
			{Name: "kind", Kind: bot.Choice, Choices: class.Kinds},
			{Name: "width", Kind: bot.Length, Min: "1cm", Max: "5m"},
			{Name: "heddle", Kind: bot.Density, Min: minSett, Max: maxSett},
			{Name: "sett", Kind: bot.Density, Min: minSett, Max: maxSett},
			{Name: "ends", Kind: bot.Count, Min: minEnds, Max: maxEnds},
			{Name: "rightmost", Kind: bot.Choice, Choices: class.Rightmosts},
			{Name: "from", Kind: bot.Choice, Choices: []string{"right", "left"}},
			{Name: "units", Kind: bot.Choice, Choices: []string{"inches", "centimetres"}},
			{Name: "unsure", Kind: bot.Choice, Choices: questions},
			{Name: "clear", Kind: bot.Choice, Choices: []string{"yes"}},
		},
		Examples: []string{
			`loom kind:"rigid heddle" width:15in heddle:10 ends:150 rightmost:hole from:right`,
			"loom width:38cm heddle:40/10cm",
			"loom ends:97 rightmost:slot from:left units:inches",
		},
		Run: func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
			return report(ctx, c, looms)
		},
	}
}

// report lays what she says now over what she said before, and keeps it only
// when the whole agrees.
func report(ctx context.Context, c *bot.Call, looms class.Looms) (bot.Reply, error) {
	loom, err := looms.Loom(ctx, c.Request.From)
	if err != nil {
		return bot.Reply{}, err
	}
	if c.Args.Has("clear") {
		err := looms.KeepLoom(ctx, c.Request.From, class.Loom{})
		return bot.Reply{Title: c.Say("loom.title"), Body: []bot.Block{bot.Paragraph(c.Say("loom.cleared"))}}, err
	}
	before := loom
	if loom, err = said(c, loom); err != nil {
		return bot.Reply{}, err
	}
	if loom.Units != measure.Unset {
		c.Units = loom.Units
	}
	reply, err := loomReply(c, loom)
	if err != nil {
		return bot.Reply{}, err
	}
	if !same(before, loom) {
		if err := looms.KeepLoom(ctx, c.Request.From, loom); err != nil {
			return bot.Reply{}, err
		}
	}
	return reply, nil
}

func same(a, b class.Loom) bool {
	unsure := slices.Equal(a.Unsure, b.Unsure)
	a.Unsure, b.Unsure = nil, nil
	return unsure && a.Kind == b.Kind && a.Width == b.Width && a.Heddle == b.Heddle && a.Sett == b.Sett &&
		a.Ends == b.Ends && a.Rightmost == b.Rightmost && a.From == b.From && a.Units == b.Units
}

// said lays the arguments over a loom. A new width or heddle makes an older
// count of ends void when the two no longer agree: it was another warp.
func said(c *bot.Call, l class.Loom) (class.Loom, error) {
	a := c.Args
	if a.Has("kind") {
		l.Kind = class.Kind(a.Text("kind"))
	}
	if a.Has("width") {
		l.Width = a.Length("width")
	}
	if a.Has("heddle") {
		l.Heddle, l.Sett = a.Density("heddle"), 0
	}
	if a.Has("sett") {
		l.Sett = a.Density("sett")
	}
	if a.Has("rightmost") {
		l.Rightmost = class.Rightmost(a.Text("rightmost"))
	}
	if a.Has("from") {
		l.From = a.Text("from")
	}
	if a.Has("unsure") && !slices.Contains(l.Unsure, a.Text("unsure")) {
		l.Unsure = append(slices.Clone(l.Unsure), a.Text("unsure"))
	}
	l.Unsure = slices.DeleteFunc(slices.Clone(l.Unsure), func(q string) bool { return a.Has(q) })
	l.Units = unitsSaid(a, l.Units)
	if a.Has("ends") {
		l.Ends = a.Count("ends")
	} else if l.Ends > 0 && l.EndsPerLength() > 0 && disagree(c, l) {
		l.Ends = 0
	}
	if err := fits(l); err != nil {
		return l, err
	}
	if l.Ends == 0 && l.Width == 0 {
		return l, nil
	}
	_, err := measured(c, withUsualHeddle(c, l))
	return l, err
}

func disagree(c *bot.Call, l class.Loom) bool {
	_, err := measured(c, l)
	return err != nil
}

// fits refuses a hole or a slot on shafts, and the other way round.
func fits(l class.Loom) error {
	onShafts := l.Rightmost == class.Shaft1 || l.Rightmost == class.Shaft2
	switch {
	case l.Kind == "" || l.Rightmost == "":
		return nil
	case l.Kind == class.RigidHeddle && onShafts:
		return &calc.Fault{Code: calc.Conflict, Key: "loom.no_shafts", Field: "rightmost", Example: "loom rightmost:hole"}
	case l.Kind != class.RigidHeddle && !onShafts:
		return &calc.Fault{Code: calc.Conflict, Key: "loom.no_holes", Field: "rightmost", Example: "loom rightmost:shaft1"}
	}
	return nil
}

func unitsSaid(a bot.Args, before measure.Units) measure.Units {
	switch a.Text("units") {
	case "inches":
		return measure.Imperial
	case "centimetres":
		return measure.Metric
	}
	if before != measure.Unset || !a.Has("width") {
		return before
	}
	if strings.HasSuffix(strings.ToLower(strings.TrimRight(a.Raw("width"), " s")), "m") {
		return measure.Metric
	}
	return measure.Imperial
}

func withUsualHeddle(c *bot.Call, l class.Loom) class.Loom {
	if l.EndsPerLength() == 0 && l.Ends == 0 {
		l.Heddle = usualHeddle
		if c.Units == measure.Metric {
			l.Heddle = usualHeddleMetric
		}
	}
	return l
}

// loomReply repeats what is known, gives the first plan as soon as there can be
// one, and asks the next question.
func loomReply(c *bot.Call, l class.Loom) (bot.Reply, error) {
	reply := bot.Reply{Title: c.Say("loom.title")}
	assumed := withUsualHeddle(c, l)
	if q := c.Args.Text("unsure"); q != "" {
		reply.Body = append(reply.Body, bot.Paragraph(c.Say(calc.Key("loom.unsure."+questionKey(q, l)))))
	}
	reply.Body = append(reply.Body, known(c, l))
	data := loomData{
		Kind: l.Kind, WidthM: float64(l.Width), HeddleDPI: l.Heddle.In(measure.PerInch), EPI: l.EndsPerLength().In(measure.PerInch),
		Ends: l.Ends, Counted: l.Ends > 0, Rightmost: l.Rightmost, From: l.From, Asks: nextQuestion(l),
	}
	if l.Ends > 0 || l.Width > 0 {
		w, err := measured(c, assumed)
		if err != nil {
			return reply, err
		}
		plan, err := rowReply(c, w, firstPattern(w))
		if err != nil {
			return reply, err
		}
		if l.EndsPerLength() == 0 && l.Ends == 0 {
			reply.Body = append(reply.Body, bot.Paragraph(c.Say("loom.assumed", assumed.Heddle, w.ends)))
		}
		reply.Body = append(reply.Body, bot.Heading(c.Say("loom.first_plan", plan.Title)))
		reply.Body = append(reply.Body, plan.Body...)
		row := plan.Data.(rowData)
		data.Ends, data.Row = w.ends, &row
	}
	ask(c, &reply, l, data.Ends)
	reply.Data = data
	return reply, nil
}

// firstPattern is what everyone begins with: groups of 3, or of 2 on a warp too
// narrow for two groups of 3.
func firstPattern(w theWarp) lace.Pattern {
	p := lace.Pattern{Ends: w.ends, Raised: 3, Passes: 3, From: sideOf(w.loom.From), Rows: 1}
	if w.ends/2 < 2*p.Raised {
		p.Raised = 2
	}
	return p
}

func known(c *bot.Call, l class.Loom) bot.Block {
	var list bot.List
	add := func(said bool, key calc.Key, args ...any) {
		if said {
			list = append(list, c.Say(key, args...))
		}
	}
	add(l.Kind != "", "loom.kind", calc.Key("loom.kind."+strings.ReplaceAll(string(l.Kind), " ", "_")))
	add(l.Width > 0, "loom.width", l.Width)
	add(l.Heddle > 0, "loom.heddle", l.Heddle)
	add(l.Sett > 0, "loom.sett", l.Sett)
	add(l.Ends > 0, "loom.ends", l.Ends)
	add(l.Rightmost != "", "loom.rightmost", calc.Key("loom.rightmost."+string(l.Rightmost)))
	add(l.From != "", "loom.from", calc.Key("side."+l.From))
	if len(list) == 0 {
		return bot.Paragraph(c.Say("loom.nothing"))
	}
	if l.Units != measure.Unset {
		list = append(list, c.Say(calc.Key("loom.units."+strconv.Itoa(int(l.Units)))))
	}
	return list
}

// nextQuestion is the first that is neither answered nor answered with "I don't
// know"; a width nobody knows is asked for again unless the ends were counted.
func nextQuestion(l class.Loom) string {
	answered := map[string]bool{
		"kind": l.Kind != "", "width": l.Width > 0 || l.Ends > 0, "heddle": l.EndsPerLength() > 0,
		"ends": l.Ends > 0, "rightmost": l.Rightmost != "", "from": l.From != "",
	}
	for _, q := range questions {
		if !answered[q] && (!slices.Contains(l.Unsure, q) || q == "width") {
			return q
		}
	}
	return ""
}

// questionKey is a question's key: shafts are asked about in other words than
// a rigid heddle.
func questionKey(q string, l class.Loom) string {
	onShafts := l.Kind == class.TableLoom || l.Kind == class.FloorLoom
	if onShafts && (q == "heddle" || q == "rightmost") {
		return q + "_shafts"
	}
	return q
}

// ask puts the next question under a reply, with a button for each usual answer.
func ask(c *bot.Call, reply *bot.Reply, l class.Loom, ends int) {
	q := nextQuestion(l)
	if q == "" {
		reply.Body = append(reply.Body, bot.Paragraph(c.Say("loom.complete")))
		return
	}
	key := questionKey(q, l)
	param := q
	if key == "heddle_shafts" {
		param = "sett"
	}
	line := "loom " + param + ":"
	reply.Body = append(reply.Body, bot.Heading(c.Say("loom.question")), bot.Paragraph(c.Say(calc.Key("loom.ask."+key))))
	for _, answer := range usualAnswers(q, l, ends) {
		reply.Buttons = append(reply.Buttons, bot.Button{Label: answerLabel(c, q, answer), Line: line + quoted(answer)})
	}
	unsure := "loom unsure:" + q
	reply.Buttons = append(reply.Buttons, bot.Button{Label: c.Say("loom.unsure"), Line: unsure})
	reply.Ask = &bot.Question{Line: line, Unsure: unsure}
}

func usualAnswers(q string, l class.Loom, ends int) []string {
	switch q {
	case "kind":
		return class.Kinds
	case "heddle":
		if l.Units == measure.Metric {
			return []string{"30/10cm", "40/10cm", "50/10cm"}
		}
		return []string{"8", "10", "12", "12.5"}
	case "ends":
		if ends > 0 && l.EndsPerLength() > 0 {
			return []string{strconv.Itoa(ends)}
		}
	case "rightmost":
		switch l.Kind {
		case class.RigidHeddle:
			return class.Rightmosts[:2]
		case class.TableLoom, class.FloorLoom:
			return class.Rightmosts[2:]
		}
		return class.Rightmosts
	case "from":
		return []string{"right", "left"}
	}
	return nil
}

// answerLabel is what a button says: words where there are words for it.
func answerLabel(c *bot.Call, q, answer string) string {
	key := calc.Key("loom." + q + "." + strings.ReplaceAll(answer, " ", "_"))
	if label := c.Say(key); label != string(key) {
		return label
	}
	return answer
}

func quoted(s string) string {
	if strings.Contains(s, " ") {
		return `"` + s + `"`
	}
	return s
}
