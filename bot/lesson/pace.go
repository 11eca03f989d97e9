package lesson

import (
	"context"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/lace"
)

// paceData is a weaver's pace for scripts; what cannot be told is null.
type paceData struct {
	RowsDone int      `json:"rows_done"`
	Rows     int      `json:"rows"`
	RowS     *float64 `json:"row_s"` // how long a row takes her: the median, in seconds
	LowS     *float64 `json:"low_s"` // half of her rows took from this
	HighS    *float64 `json:"high_s"`
	Counted  int      `json:"counted"`  // rows of which the pace is told
	LeftOut  int      `json:"left_out"` // rows of another order: with a break, or jumped over
	LeftS    *float64 `json:"left_s"`   // for the rest of the piece

	Session     *int  `json:"session"`      // that goes on or comes next
	Running     bool  `json:"running"`      // it goes on
	SessionRows *int  `json:"session_rows"` // rows that are woven by its end
	DoneIn      *int  `json:"done_in"`      // the session in which the piece is done, woven in class alone
	Enough      *bool `json:"enough"`       // whether the sessions that are set do for it
}

// paceKeys say how far she comes, by whether the session goes on.
var paceKeys = map[bool]calc.Key{true: "pace.session_now", false: "pace.session_next"}

func paceCommand(d *Desk) *bot.Command {
	return &bot.Command{Name: "pace", Examples: []string{"pace"}, Run: d.pace}
}

// almostRow is what may be lacking of a row that is said to be woven (our own bound).
const almostRow = 0.1

// pace tells how long a row takes the asker, and what comes of it.
func (d *Desk) pace(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	s, err := d.walked(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	p, ok := paceOf(s.walk)
	data := paceData{RowsDone: min(s.walk.Row-1, s.all), Rows: s.all, Counted: p.Rows, LeftOut: p.LeftOut}
	list := bot.List{c.Say("pace.rows", data.RowsDone, s.all)}
	if ok {
		data.RowS, data.LowS, data.HighS = seconds(p.Row), seconds(p.Low), seconds(p.High)
		list = append(list, c.Say("pace.row", spanSaid(c, p.Row), p.Rows, spanSaid(c, p.Low), spanSaid(c, p.High)))
	} else if !s.done() {
		list = append(list, c.Say("pace.too_little", lace.PaceRows, p.Rows))
	}
	if p.LeftOut > 0 {
		list = append(list, c.Texts.Count(c.Units, "pace.left_out", p.LeftOut))
	}
	if ok && !s.done() {
		left := p.For(s.rowsToWeave())
		data.LeftS = seconds(left)
		list = append(list, c.Say("pace.left", spanSaid(c, left)))
		in, err := d.paceInClass(ctx, c, s, p, &data)
		if err != nil {
			return bot.Reply{}, err
		}
		list = append(list, in...)
	}
	r := bot.Reply{Title: c.Say("pace.title"), Body: []bot.Block{list}, Data: data}
	if ok && !s.done() {
		r.Body = append(r.Body, bot.Paragraph(c.Say("pace.how")))
	}
	return r, nil
}

// paceOf is the pace of a walk by the rows that she came to the end of.
func paceOf(w class.Walk) (lace.Pace, bool) {
	took := make([]time.Duration, 0, len(w.Rows))
	for _, r := range w.Rows {
		took = append(took, r.Ended.Sub(r.Begun))
	}
	return lace.PaceOf(took)
}

// rowsToWeave is how many rows are left, the one in hand by its moves.
func (s stretch) rowsToWeave() float64 {
	if s.done() {
		return 0
	}
	return float64(s.all-s.walk.Row+1) - float64(s.walk.Move-1)/float64(s.moves())
}

// paceInClass says how far she comes in the session that goes on or comes next,
// and in which one the piece is done when she weaves in class alone.
func (d *Desk) paceInClass(ctx context.Context, c *bot.Call, s stretch, p lace.Pace, data *paceData) (list bot.List, err error) {
	who, err := d.standing(ctx, c)
	if err != nil || who.Joined() == "" {
		return nil, err
	}
	sessions, err := d.Store.SessionsOf(ctx, who.Class.ID, d.Now())
	if err != nil {
		return nil, err
	}
	left, none := s.rowsToWeave(), true
	for _, one := range sessions {
		if one.Cancelled {
			continue
		}
		running, from := !one.Start.After(d.Now()), one.Start
		if running {
			from = d.Now()
		}
		woven := p.Within(one.End().Sub(from))
		name := headline(c, who.Class, one)
		if none {
			none, data.Running, data.Session = false, running, said(one.Number)
			rows := min(int(float64(s.all)-left+woven+almostRow), s.all)
			data.SessionRows = &rows
			list = append(list, c.Say(paceKeys[running], name, whenSaidToHer(c, echoOf(one, who.Zone())), rows, s.all))
		}
		if woven >= left {
			data.DoneIn = said(one.Number)
			list = append(list, c.Say("pace.done_in", name, whenSaidToHer(c, echoOf(one, who.Zone()))))
			left = 0
			break
		}
		left -= woven
	}
	if none {
		return nil, nil
	}
	enough := left == 0
	data.Enough = &enough
	if !enough {
		list = append(list, c.Say("pace.beyond", spanSaid(c, p.For(left))))
	}
	return list, nil
}

func seconds(d time.Duration) *float64 {
	s := d.Seconds()
	return &s
}

// spanSaid is "40 seconds", "12 minutes" or "3 h 20 min": as much as anyone needs of
// an estimate.
func spanSaid(c *bot.Call, d time.Duration) string {
	switch minutes := int(d.Round(time.Minute) / time.Minute); {
	case d < 2*time.Minute:
		return c.Texts.Count(c.Units, "pace.seconds", int(d.Round(time.Second)/time.Second))
	case minutes <= 90:
		return c.Texts.Count(c.Units, "times.minutes", minutes)
	default:
		return c.Say("pace.hours", minutes/60, minutes%60)
	}
}
