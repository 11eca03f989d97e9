package lesson

import (
	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/paper"
	"weftroom/calc/lace"
)

// pictureCell is how many pairs of ends lie from place to place where a picture
// does not say: the narrowest groups that are worked (common practice, no source),
// which show most of it.
const pictureCell = 2

// fitted is a wish laid on a warp.
type fitted struct {
	wish  wish
	asked lace.Motif
	shape int // rows of a picture with which it keeps its shape, as far as a chart goes
	lace.Fitted
}

// on lays the design on a warp. said are the arguments of whoever asks now; what
// they say of passes, of the way and of the rows goes before what is kept.
func (w wish) on(warp theWarp, said bot.Args) (fitted, error) {
	m, shape := w.motif(warp, said)
	f, err := m.Fit()
	if fault, bad := asFault(err); bad && fault.Key == lace.KeyChartWide {
		fault.Example = "motif " + bot.Written("design", called(w.kept)) + " panel:1"
		return fitted{}, fault
	}
	return fitted{wish: w, asked: m, shape: shape, Fitted: f}, err
}

// called is the name by which one asks for a design again.
func called(kept class.Design) string {
	if kept.Name == "" {
		return lastDesign
	}
	return kept.Name
}

// motif is the design as it is asked for on a warp and, of a picture, how many
// rows would keep its shape.
func (w wish) motif(warp theWarp, said bot.Args) (lace.Motif, int) {
	count := func(name string, usual int) int {
		switch {
		case said.Has(name):
			return said.Count(name)
		case w.args.Has(name):
			return w.args.Count(name)
		}
		return usual
	}
	across := 1 // a design is meant once
	if w.args.Has("ground") || w.args.Has("mirror") {
		across = 0 // and a ground fills the warp
	}
	m := lace.Motif{
		Ends: warp.ends, From: sideOf(warp.loom.From), Passes: count("passes", lace.MinPasses), Asked: w.tones,
		Cell: count("cell", 0), Across: count("across", across), Rows: count("rows", 0),
		Mirror: w.args.Has("mirror"), Apart: w.apart, Margin: count("margin", -1), Panel: count("panel", 0), AsIs: w.args.Has("asis"),
	}
	way := w.args.Text("way")
	if said.Has("way") {
		way = said.Text("way")
	}
	if way == "two" {
		m.Way = lace.TwoWay
	}
	if w.isPicture() {
		return m, w.draw(&m, warp, said)
	}
	return m, 0
}

// draw lays a picture on as many places as the warp has, and as many rows as do
// not squash it, unless others were asked for. It tells how many those are.
func (w wish) draw(m *lace.Motif, warp theWarp, said bot.Args) int {
	if m.Cell == 0 {
		m.Cell = pictureCell
	}
	margin := m.Margin
	if margin < 0 {
		margin = lace.MinRaised
	}
	places, repeats := (warp.ends/2-2*margin)/m.Cell+1, max(m.Across, 1)
	columns := places / repeats
	if m.Mirror && repeats > 1 {
		columns = (places-1)/repeats + 1
	}
	columns = min(max(columns, 1), lace.MaxChartColumns)
	journeys, picks := journeysOf(m.Way), m.Passes+1 // with the pick home
	if m.Way == lace.TwoWay {
		picks = 2 * m.Passes
	}
	shape := w.picture.Rows(columns, paper.Grain{Ends: 2 * m.Cell, Picks: picks, Sett: warp.sett, PPI: said.Density("ppi")})
	rows := (m.Rows + journeys - 1) / journeys
	if rows == 0 {
		rows = shape
	}
	m.Asked = w.picture.Fit(rows, columns, w.args.Has("light"))
	return shape
}

// journeysOf is how many rows are woven for each row of a design.
func journeysOf(way lace.Way) int {
	if way == lace.TwoWay {
		return 2
	}
	return 1
}
