package lesson

import (
	"context"
	"slices"
	"strconv"
	"strings"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/lace"
)

// Sentences about walking a plan.
const (
	keyNoWalk   calc.Key = "walk.none"    // no arguments
	keyGotoRow  calc.Key = "walk.no_row"  // the row given, the rows of the plan
	keyGotoMove calc.Key = "walk.no_move" // the move given, the moves of the row, the row
)

// walking are the arguments of start.
func walkingParams(d *Desk) []bot.Param {
	return slices.Concat(rowCommand(d).Params, []bot.Param{
		{Name: "by", Kind: bot.Choice, Choices: []string{"move", "row"}},
		{Name: "again", Kind: bot.Choice, Choices: []string{"yes"}},
	})
}

// startReader reads what was asked for at the start.
var startReader = &bot.Command{Name: "start", Params: walkingParams(nil)}

// fromParam is the move that a button was under. A button pressed twice, or on
// an old message, then does nothing twice.
var fromParam = bot.Param{Name: "from", Kind: bot.Words, Max: "40", Pressed: true, Stamp: true}

func startCommand(d *Desk) *bot.Command {
	start := &bot.Command{
		Name: "start", Changes: true, Params: walkingParams(d),
		Examples: []string{"start", "start ends:97 raised:3 rows:2", "start by:row", "start again:yes"},
	}
	start.Run = func(ctx context.Context, c *bot.Call) (bot.Reply, error) { return d.startWalk(ctx, c, start) }
	return start
}

// startWalk begins a plan, or goes on with the one that she is in: only again:yes
// puts another in its place before it is done.
func (d *Desk) startWalk(ctx context.Context, c *bot.Call, start *bot.Command) (bot.Reply, error) {
	old, err := d.Store.Walk(ctx, c.Request.From)
	if err != nil && !isNone(err) {
		return bot.Reply{}, err
	}
	asked, again, by := askedOf(c.Args, start), c.Args.Has("again"), c.Args.Text("by")
	going := err == nil && !again
	if going && asked == "" {
		s, err := d.stretchOf(ctx, c, old)
		if err != nil {
			return bot.Reply{}, err
		}
		if !s.done() {
			return d.resume(ctx, c, s, by)
		}
	}
	if again && asked == "" && old.Asked != "" { // the same once more
		asked = old.Asked
		if c.Args, err = start.ArgsOf(asked, c.Units); err != nil {
			return bot.Reply{}, err
		}
	}
	e, err := d.tonight(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	t, _, asks, err := d.ownRowOf(ctx, c, start, e)
	switch {
	case err != nil:
		return bot.Reply{}, err
	case asks != nil:
		return *asks, nil
	}
	plan := frozen(t)
	if going {
		s, err := d.stretchOf(ctx, c, old)
		if err != nil {
			return bot.Reply{}, err
		}
		switch {
		case s.done():
		case old.Plan == plan:
			return d.resume(ctx, c, s, by)
		default:
			return s.inAnother(asked), nil
		}
	}
	now := d.Now().Truncate(time.Millisecond)
	w := class.Walk{Plan: plan, Asked: asked, Session: e.session.ID, Row: 1, Move: 1, ByRow: by == "row", Begun: now, Moved: now}
	if err := d.Store.KeepWalk(ctx, c.Request.From, w); err != nil {
		return bot.Reply{}, err
	}
	s, err := d.stretchOf(ctx, c, w)
	if err != nil {
		return bot.Reply{}, err
	}
	if w.ByRow {
		return s.reply(c.Say("walk.begun_row")), nil
	}
	return s.reply(c.Say("walk.begun")), nil
}

// resume goes on where she was, by the move or by the row as she now wishes.
func (d *Desk) resume(ctx context.Context, c *bot.Call, s stretch, by string) (bot.Reply, error) {
	if byRow := by == "row"; by != "" && byRow != s.walk.ByRow {
		s.walk.ByRow = byRow
		if byRow {
			s.walk.Move = 1
		}
		if err := d.Store.KeepWalk(ctx, c.Request.From, s.walk); err != nil {
			return bot.Reply{}, err
		}
	}
	return d.withNews(ctx, c, s, s.reply(c.Say("walk.where")))
}

// askedOf are the arguments of row among those given.
func askedOf(a bot.Args, start *bot.Command) string {
	var line []string
	for _, p := range start.Params {
		if a.Has(p.Name) && p.Name != "by" && p.Name != "again" {
			line = append(line, written(a, p))
		}
	}
	return strings.Join(line, " ")
}

// frozen are the arguments of row that make a plan again whatever is said of the
// loom or the evening later. What names the sheds is left to the loom.
func frozen(t rowText) string { return frozenOn(t, t.c.Args.Text("rightmost")) }

// frozenOn is frozen with the place of the rightmost end, "" for what the loom says.
func frozenOn(t rowText, rightmost string) string {
	p := t.pattern
	groups := "raised:" + strconv.Itoa(p.Raised)
	if len(p.Listed) > 0 {
		groups = bot.Written("groups", groupsText(p.Listed))
	}
	line := []string{
		"ends:" + strconv.Itoa(p.Ends), groups, "passes:" + strconv.Itoa(p.Passes),
		"from:" + sideName(p.From), "way:" + wayNames[p.Way], "rows:" + strconv.Itoa(p.Rows),
	}
	if p.Leftover == lace.Both {
		line = append(line, "leftover:both")
	}
	if p.Edge > 0 {
		line = append(line, "edge:"+strconv.Itoa(p.Edge))
	}
	if p.Repeat == lace.HalfDrop {
		line = append(line, "repeat:halfdrop")
	}
	if rightmost != "" {
		line = append(line, "rightmost:"+rightmost)
	}
	return strings.Join(append(line, "work:none"), " ")
}

// stepCommand is next, back or where.
func stepCommand(d *Desk, name string, aliases []string, run func(context.Context, *bot.Call) (bot.Reply, error)) *bot.Command {
	c := &bot.Command{Name: name, Aliases: aliases, Examples: []string{name}, Run: run}
	if name != "where" {
		c.Changes, c.Soon, c.Params = true, true, []bot.Param{fromParam}
	}
	return c
}

func nextCommand(d *Desk) *bot.Command { return stepCommand(d, "next", []string{"n"}, d.next) }

func backCommand(d *Desk) *bot.Command { return stepCommand(d, "back", []string{"previous"}, d.back) }

func whereCommand(d *Desk) *bot.Command { return stepCommand(d, "where", nil, d.where) }

func gotoCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "goto", Changes: true,
		Params: []bot.Param{
			{Name: "row", Kind: bot.Count, First: true, Required: true, Min: "1", Max: "1000"},
			{Name: "move", Kind: bot.Count, Second: true, Default: "1", Min: "1", Max: "200000"},
		},
		Examples: []string{"goto row:4", "goto row:4 move:7", "goto 4 7"},
		Run:      d.goTo,
	}
}

// walked is the walk that she is in.
func (d *Desk) walked(ctx context.Context, c *bot.Call) (stretch, error) {
	w, err := d.Store.Walk(ctx, c.Request.From)
	if isNone(err) {
		return stretch{}, &calc.Fault{Code: calc.Conflict, Key: keyNoWalk, Example: "start"}
	}
	if err != nil {
		return stretch{}, err
	}
	return d.stretchOf(ctx, c, w)
}

func (d *Desk) next(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	s, err := d.walked(ctx, c)
	switch {
	case err != nil:
		return bot.Reply{}, err
	case s.isPast(c.Args.Text("from")):
		return s.late(c, "next"), nil
	case s.done():
		return instead(s.reply("")), nil
	}
	newRow := s.walk.ByRow || s.walk.Move == s.moves()
	s.walk.Came = "next " + s.here()
	s.goOn(d.Now().Truncate(time.Millisecond))
	return d.moved(ctx, c, s, newRow)
}

func (d *Desk) back(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	s, err := d.walked(ctx, c)
	switch {
	case err != nil:
		return bot.Reply{}, err
	case s.isPast(c.Args.Text("from")):
		return s.late(c, "back"), nil
	case s.walk.Row == 1 && s.walk.Move == 1:
		return instead(s.reply(c.Say("walk.first"))), nil
	}
	s.walk.Came = "back " + s.here()
	s.goBack()
	return d.moved(ctx, c, s, false)
}

func (d *Desk) goTo(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	s, err := d.walked(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	row, move := c.Args.Count("row"), c.Args.Count("move")
	if row > s.rows() {
		return bot.Reply{}, &calc.Fault{Code: calc.OutOfRange, Key: keyGotoRow, Field: "row", Args: []any{row, s.rows()}, Example: "row:" + strconv.Itoa(s.rows())}
	}
	if most := len(s.row(row).Moves); move > most {
		return bot.Reply{}, &calc.Fault{Code: calc.OutOfRange, Key: keyGotoMove, Field: "move", Args: []any{move, most, row}, Example: "move:" + strconv.Itoa(most)}
	}
	if s.walk.ByRow && c.Args.Has("move") {
		s.walk.ByRow = false
	}
	s.walk.Row, s.walk.Move, s.walk.Came = row, move, ""
	return d.moved(ctx, c, s, true)
}

func (d *Desk) where(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	s, err := d.walked(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	return d.withNews(ctx, c, s, s.reply(c.Say("walk.where")))
}

// moved keeps where she is now and shows it. At a new row she hears whether the
// plan would be another one by now.
func (d *Desk) moved(ctx context.Context, c *bot.Call, s stretch, newRow bool) (bot.Reply, error) {
	s.walk.Moved = d.Now().Truncate(time.Millisecond)
	if err := d.Store.KeepWalk(ctx, c.Request.From, s.walk); err != nil {
		return bot.Reply{}, err
	}
	r := instead(s.reply(""))
	if !newRow || s.done() {
		return r, nil
	}
	return d.withNews(ctx, c, s, r)
}

// late answers a button that was under another place than where she is now. If it
// brought her here, it was pressed twice, or heard of twice, and there is no more to say.
func (s stretch) late(c *bot.Call, command string) bot.Reply {
	if s.walk.Came == command+" "+strings.TrimSpace(c.Args.Text("from")) {
		return instead(s.reply(""))
	}
	return instead(s.reply(c.Say("walk.already")))
}

// instead has an answer take the place of the message that held the button.
func instead(r bot.Reply) bot.Reply {
	r.Instead = true
	return r
}

// withNews adds, where what she asked for at the start would now be another
// plan, that it is so: her loom or the evening's work was changed meanwhile.
func (d *Desk) withNews(ctx context.Context, c *bot.Call, s stretch, r bot.Reply) (bot.Reply, error) {
	if s.done() || s.t.laid { // she has changed it herself
		return r, nil
	}
	args, err := startReader.ArgsOf(s.walk.Asked, c.Units)
	if err != nil { // kept by a version that knew other arguments
		return r, nil
	}
	now := *c
	now.Args = args
	e, err := d.tonight(ctx, &now)
	if err == nil && d.outlasted(s.walk, e) {
		return r, nil
	}
	var t rowText
	var asks *bot.Reply
	if err == nil {
		t, _, asks, err = d.ownRowOf(ctx, &now, startReader, e)
	}
	if _, hers := asFault(err); hers || asks != nil {
		return r, nil // there is none any more; she goes on with hers
	}
	if err != nil {
		return bot.Reply{}, err
	}
	if plan := frozen(t); plan != s.walk.Plan {
		r.Body = append(r.Body, bot.Paragraph(c.Say("walk.changed")))
		line := "start again:yes"
		if s.walk.Asked != "" {
			line += " " + s.walk.Asked
		}
		r.Buttons = append(r.Buttons, bot.Button{Label: c.Say("walk.button.new"), Line: line})
	}
	return r, nil
}

// outlasted tells that the evening whose work she weaves is over, and no other
// has begun: at home she goes on with what she has, and nothing was changed.
func (d *Desk) outlasted(w class.Walk, now evening) bool {
	return w.Session != "" && w.Session != now.session.ID && (now.none() || now.session.Start.After(d.Now()))
}
