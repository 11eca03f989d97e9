package lesson

import (
	"context"
	"slices"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/lace"
)

// Sentences of progress, beside those of its answers.
const (
	keyProgressAlone  calc.Key = "progress.alone"  // no arguments: not where others read
	keyProgressMinors calc.Key = "progress.minors" // the class's name
)

// When someone seems stuck (common practice, no source): she has made no step
// for stuckTimes as long as one usually takes her, and stuckLeast at least.
const (
	stuckTimes = 3
	stuckLeast = 5 * time.Minute
)

// placeNames are the two ways of the setting place, by whether it is hidden, and
// beside them what is said of each.
var (
	placeNames  = map[bool]string{false: "shown", true: "hidden"}
	placeKeys   = map[bool]calc.Key{false: "settings.place_shown", true: "settings.place_hidden"}
	placeAtJoin = map[bool]calc.Key{false: "join.place", true: "join.place_hidden"}
)

// progressData is where the members of a class are, for scripts.
type progressData struct {
	Class   string         `json:"class"`
	Session *int           `json:"session"` // that goes on; null for none
	Members []progressLine `json:"members"`
}

type progressLine struct {
	Name  string    `json:"name"`
	Plan  string    `json:"plan"`
	Row   int       `json:"row"`
	Rows  int       `json:"rows"`
	Move  int       `json:"move"` // 0 when she is done
	Moves int       `json:"moves"`
	Done  bool      `json:"done"`
	RowS  *float64  `json:"row_s"` // null where too little is known
	Moved time.Time `json:"moved"`
	Stuck bool      `json:"stuck"`
}

func progressCommand(d *Desk) *bot.Command {
	return &bot.Command{Name: "progress", Who: bot.Helper, Private: true, Examples: []string{"progress"}, Run: d.progress}
}

// progress shows those who teach where their students are. It is shown to no one
// else, of no minors, and of nobody who has hidden her place.
func (d *Desk) progress(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	s, err := d.inClass(ctx, c)
	switch {
	case err != nil:
		return bot.Reply{}, err
	case s.Class.Minors:
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyProgressMinors, Args: []any{s.Class.Name}, Example: "roster"}
	case !c.Request.Alone():
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyProgressAlone, Example: "progress"}
	}
	now := d.Now()
	next, some, err := d.upcoming(ctx, s.Class.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	running := some && !next.Start.After(now)
	data := progressData{Class: s.Class.Name, Members: []progressLine{}}
	if running {
		data.Session = &next.Number
	}
	t := bot.Table{Head: []string{
		c.Say("progress.name"), c.Say("progress.plan"), c.Say("progress.place"), c.Say("progress.row_takes"), c.Say("progress.last"),
	}}
	walkers, err := d.walkers(ctx, c, s.Class)
	if err != nil {
		return bot.Reply{}, err
	}
	var stuck []string
	for _, w := range walkers {
		line := w.line()
		line.Stuck = running && w.stuck(now, next.Start)
		if line.Stuck {
			stuck = append(stuck, line.Name)
		}
		data.Members = append(data.Members, line)
		t.Rows = append(t.Rows, []string{line.Name, w.planSaid(c), placeSaid(c, line, w.walk.ByRow), w.paceSaid(c), agoSaid(c, now.Sub(line.Moved))})
	}
	r := bot.Reply{Title: c.Say("progress.title", s.Class.Name), Data: data}
	switch {
	case len(walkers) == 0:
		r.Body = []bot.Block{bot.Paragraph(c.Say("progress.nobody"))}
		return r, nil
	case !running:
		r.Body = []bot.Block{t, bot.Paragraph(c.Say("progress.no_session"))}
	case len(stuck) == 0:
		r.Body = []bot.Block{t, bot.Paragraph(c.Say("progress.no_stuck"))}
	default:
		r.Body = []bot.Block{bot.Paragraph(c.Say("progress.stuck", stuckTimes, int(stuckLeast.Minutes()), stuck)), t}
	}
	r.Body = append(r.Body, bot.Paragraph(c.Say("progress.quiet")))
	return r, nil
}

// walker is a student on her way through a plan.
type walker struct {
	stretch
	name string
	pace lace.Pace
	told bool // the pace can be told
}

// walkers are the students of a class who walk a plan and show it.
func (d *Desk) walkers(ctx context.Context, c *bot.Call, k class.Class) (all []walker, err error) {
	group, err := d.group(ctx, c, k)
	if err != nil {
		return nil, err
	}
	walks, err := d.Store.WalksOf(ctx, k.ID)
	if err != nil {
		return nil, err
	}
	for _, f := range group {
		walk, walks := walks[f.person.ID]
		if !walks || f.person.Hidden || f.member.Role != bot.Student {
			continue
		}
		minor, err := d.amongMinors(ctx, f.person.ID)
		if err != nil {
			return nil, err
		}
		if minor {
			continue
		}
		w := walker{name: f.name}
		if w.stretch, err = d.stretchOf(ctx, c, walk); err != nil {
			if _, hers := asFault(err); hers { // kept by a version that knew other plans
				continue
			}
			return nil, err
		}
		w.pace, w.told = paceOf(walk)
		all = append(all, w)
	}
	return all, nil
}

// amongMinors tells whether a person is in a class of minors, whose members are
// shown to nobody, wherever else they are.
func (d *Desk) amongMinors(ctx context.Context, person class.ID) (bool, error) {
	classes, err := d.classesOf(ctx, person)
	return slices.ContainsFunc(classes, func(k class.Class) bool { return k.Minors }), err
}

func (w walker) line() progressLine {
	at := w.data()
	line := progressLine{
		Name: w.name, Plan: w.walk.Plan, Row: at.Row, Rows: at.Rows, Move: at.Move, Moves: at.Moves, Done: at.Done, Moved: w.walk.Moved.UTC(),
	}
	if w.told {
		line.RowS = seconds(w.pace.Row)
	}
	return line
}

// stuck tells whether she has made no step for long by her own pace. Who has made
// none since the session began may not be there at all.
func (w walker) stuck(now, began time.Time) bool {
	if !w.told || w.done() || w.walk.Moved.Before(began) {
		return false
	}
	step := w.pace.Row
	if !w.walk.ByRow {
		step /= time.Duration(w.moves())
	}
	return now.Sub(w.walk.Moved) > max(stuckTimes*step, stuckLeast)
}

func (w walker) planSaid(c *bot.Call) string {
	p := w.t.pattern
	if len(p.Listed) > 0 {
		return c.Say("progress.pattern_listed", p.Ends, listedSaid(c, p), p.Passes)
	}
	return c.Say("progress.pattern", p.Ends, p.Raised, p.Passes)
}

func (w walker) paceSaid(c *bot.Call) string {
	if !w.told {
		return c.Say("progress.unknown")
	}
	return spanSaid(c, w.pace.Row)
}

func placeSaid(c *bot.Call, l progressLine, byRow bool) string {
	switch {
	case l.Done:
		return c.Say("progress.done", l.Rows)
	case byRow:
		return c.Say("progress.in_row", l.Row, l.Rows)
	}
	return c.Say("progress.at_move", l.Row, l.Rows, l.Move, l.Moves)
}

// agoSaid is "12 minutes ago", or after two days "3 days ago".
func agoSaid(c *bot.Call, d time.Duration) string {
	const day = 24 * time.Hour
	if d < 2*day {
		return c.Say("progress.ago", spanSaid(c, d))
	}
	return c.Say("progress.ago", c.Texts.Count(c.Units, "progress.days", int(d/day)))
}
