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
	"weftroom/calc/warp"
)

// The heddles taken for granted until she has said hers: the first plan must
// not wait for it.
const (
	usualHeddle       = 10 * measure.PerInch
	usualHeddleMetric = 40 * measure.PerDecimetre
)

// loomData is what is known of a loom; what she has not said is null.
type loomData struct {
	Kind      *string  `json:"kind"`
	WidthM    *float64 `json:"width_m"`
	HeddleDPI *float64 `json:"heddle_dpi"`
	EPI       *float64 `json:"epi"`
	Ends      *int     `json:"ends"`    // as counted or, when there is a plan, as worked out for it
	Counted   bool     `json:"counted"` // the ends are her count
	Rightmost *string  `json:"rightmost"`
	From      *string  `json:"from"`
	Units     *string  `json:"units"`
	Asks      *string  `json:"asks"` // the next question, null when all is known
	Row       *rowData `json:"row"`  // her first plan, null until a width or a count is known
}

func loomDataOf(l class.Loom) loomData {
	return loomData{
		Kind: said(string(l.Kind)), WidthM: orNull(l.Width),
		HeddleDPI: orNull(measure.Ratio(l.Heddle.In(measure.PerInch))), EPI: orNull(measure.Ratio(l.EndsPerLength().In(measure.PerInch))),
		Ends: said(l.Ends), Counted: l.Ends > 0, Rightmost: said(string(l.Rightmost)), From: said(l.From),
		Units: said(unitNames[l.Units]), Asks: said(nextQuestion(l)),
	}
}

// said is null for what has not been said.
func said[T comparable](v T) *T {
	var nothing T
	if v == nothing {
		return nil
	}
	return &v
}

var unitNames = map[measure.Units]string{measure.Imperial: "inches", measure.Metric: "centimetres"}

func loomCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "loom", Changes: true,
		Params: []bot.Param{
			{Name: "kind", Kind: bot.Choice, Choices: class.Kinds},
			{Name: "width", Kind: bot.Length, Min: "1cm", Max: widestLoom},
			{Name: "heddle", Kind: bot.Density, Min: minSett, Max: maxSett},
			{Name: "sett", Kind: bot.Density, Min: minSett, Max: maxSett},
			{Name: "ends", Kind: bot.Count, Min: minEnds, Max: maxEnds},
			{Name: "rightmost", Kind: bot.Choice, Choices: class.Rightmosts},
			{Name: "from", Kind: bot.Choice, Choices: []string{"right", "left"}},
			unitsParam("units"),
			{Name: "unsure", Kind: bot.Choice, Choices: questions},
			{Name: "clear", Kind: bot.Choice, Choices: []string{"yes"}},
		},
		Examples: []string{
			`loom kind:"rigid heddle" width:15in heddle:10 ends:150 rightmost:hole from:right`,
			"loom width:38cm heddle:40/10cm",
			"loom ends:97 rightmost:slot from:left units:inches",
		},
		Run: d.tellLoom,
	}
}

// tellLoom lays what she says now over what she said before, and keeps it only
// when the whole agrees. Her units are her own, whatever loom she has.
func (d *Desk) tellLoom(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	loom, err := d.Store.Loom(ctx, c.Request.From)
	if err != nil {
		return bot.Reply{}, err
	}
	p, err := d.known(ctx, c.Request.From)
	if err != nil {
		return bot.Reply{}, err
	}
	loom.Units = cmp.Or(p.Units, loom.Units)
	before := loom
	if c.Args.Has("clear") {
		loom = class.Loom{Units: p.Units}
	}
	if loom, err = laidOver(c, loom); err != nil {
		return bot.Reply{}, err
	}
	if loom.Units != measure.Unset {
		c.Units = loom.Units
	}
	reply, err := loomReply(c, loom, p.Hand)
	if err != nil || same(before, loom) {
		return reply, err
	}
	if err := d.Store.KeepLoom(ctx, c.Request.From, loom); err != nil {
		return bot.Reply{}, err
	}
	return reply, d.keepUnits(ctx, c.Request.From, loom.Units)
}

// keepUnits makes the units that someone said of her loom hers. Where nobody is
// kept, only looms are.
func (d *Desk) keepUnits(ctx context.Context, a bot.Account, u measure.Units) error {
	p, err := d.known(ctx, a)
	if err != nil || p.ID == "" || u == measure.Unset || p.Units == u {
		return err
	}
	p.Units = u
	return d.Store.PutPerson(ctx, p)
}

func same(a, b class.Loom) bool {
	unsure := slices.Equal(a.Unsure, b.Unsure)
	a.Unsure, b.Unsure = nil, nil
	return unsure && a.Kind == b.Kind && a.Width == b.Width && a.Heddle == b.Heddle && a.Sett == b.Sett &&
		a.Ends == b.Ends && a.Rightmost == b.Rightmost && a.From == b.From && a.Units == b.Units
}

// laidOver lays the arguments over a loom. A new width or heddle makes an older
// count of ends void when the two no longer agree: it was another warp. A new
// count that does not agree with an older width is refused, since she may have
// miscounted. On another kind of loom the rightmost end sits elsewhere.
func laidOver(c *bot.Call, l class.Loom) (class.Loom, error) {
	a := c.Args
	if err := bareBesideMetric(a); err != nil {
		return l, err
	}
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
	} else if a.Has("kind") && fits(l) != nil {
		l.Rightmost = ""
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
	} else if l.Ends > 0 && disagree(l) {
		l.Ends = 0
	}
	if err := fits(l); err != nil {
		return l, err
	}
	if l.Ends == 0 && l.Width == 0 {
		return l, nil
	}
	if err := doubted(c, l); err != nil {
		return l, err
	}
	_, err := measured(withUsualHeddle(c, l))
	if f, bad := asFault(err); bad && f.Key == warp.KeyEndsDisagree {
		return l, anotherWarp(c, l, f)
	}
	return l, err
}

// sparsest is more open than a warp for lace is set; a count of ends that makes
// less of a width is likelier the number of her heddle (common practice, no source).
const sparsest = 3 * measure.PerInch

// doubted refuses a count of ends that would leave most of the width empty, of
// someone whose heddle is not known.
func doubted(c *bot.Call, l class.Loom) error {
	if !c.Args.Has("ends") || l.Width == 0 || l.EndsPerLength() > 0 {
		return nil
	}
	sett := measure.Sett(float64(l.Ends) / float64(l.Width))
	if sett >= sparsest {
		return nil
	}
	likely := withUsualHeddle(c, class.Loom{Width: l.Width})
	example := ""
	if w, err := measured(likely); err == nil {
		example = "loom ends:" + strconv.Itoa(w.ends)
	}
	return &calc.Fault{Code: calc.Conflict, Key: "loom.ends_doubted", Field: "ends", Args: []any{l.Ends, l.Width, sett}, Example: example}
}

// anotherWarp refuses a count of ends that does not agree with the width. Its
// example is the heddle in which they would, or else, where the width is from
// before, how to say that it is another warp.
func anotherWarp(c *bot.Call, l class.Loom, f *calc.Fault) *calc.Fault {
	u := l.Units
	if u == measure.Unset {
		u = c.Units
	}
	if !c.Args.Has("width") {
		f.Key = "loom.ends_disagree"
		f.Example = "loom ends:" + strconv.Itoa(l.Ends) + " width:" + quoted(u.Length(warp.Width(l.Ends, l.EndsPerLength())))
	}
	if h, ok := heddleFor(l.Ends, l.Width, u); ok {
		f.Example = "loom ends:" + strconv.Itoa(l.Ends) + " " + h
	}
	return f
}

func disagree(l class.Loom) bool {
	_, err := measured(l)
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
	if before != measure.Unset {
		return before
	}
	return measure.UnitsOf(a.Raw("width"))
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
// one, and asks the next question. Who has not said from where she starts gets
// a plan that starts from the side of her hand.
func loomReply(c *bot.Call, l class.Loom, hand string) (bot.Reply, error) {
	reply := bot.Reply{Title: c.Say("loom.title")}
	if c.Args.Has("clear") {
		reply.Body = append(reply.Body, bot.Paragraph(c.Say("loom.cleared")))
	}
	assumed := withUsualHeddle(c, l)
	assumed.From = cmp.Or(assumed.From, hand)
	if q := c.Args.Text("unsure"); q != "" {
		reply.Body = append(reply.Body, bot.Paragraph(findOut(c, q, assumed)))
	}
	reply.Body = append(reply.Body, known(c, l))
	data := loomDataOf(l)
	if l.Ends > 0 || l.Width > 0 {
		w, err := measured(assumed)
		if err != nil {
			return reply, err
		}
		plan, err := rowTextOf(c, w, firstPattern(w))
		if err != nil {
			return reply, err
		}
		if l.EndsPerLength() == 0 && l.Ends == 0 {
			reply.Body = append(reply.Body, bot.Paragraph(c.Say("loom.assumed", assumed.Heddle, w.ends)))
		}
		reply.Body = append(reply.Body, bot.Heading(c.Say("loom.first_plan")), bot.Paragraph(plan.title()+"."))
		if told(l) {
			reply.Body = append(reply.Body, plan.body()...)
		} else {
			reply.Body = append(reply.Body, plan.brief()...)
		}
		data.Ends, data.Row = &w.ends, said(plan.data())
	}
	ask(c, &reply, l)
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
	nothing := len(list) == 0 && !c.Args.Has("units") // units are hers, not her loom's
	add(l.Units != measure.Unset, calc.Key("loom.units."+unitNames[l.Units]))
	if nothing || len(list) == 0 {
		return bot.Paragraph(c.Say("loom.nothing"))
	}
	return list
}
