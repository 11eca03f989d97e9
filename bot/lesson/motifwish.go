package lesson

import (
	"context"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/paper"
	"weftroom/calc"
	"weftroom/calc/lace"
	"weftroom/calc/measure"
)

// Sentences about a design that is asked for.
const (
	keyMotifNone  calc.Key = "motif.none"  // no arguments: there is nothing to make it from
	keyMotifTwo   calc.Key = "motif.two"   // the names of two arguments that each make a design
	keyMotifOnly  calc.Key = "motif.only"  // the argument, that without which it means nothing
	keyMotifPanel calc.Key = "motif.panel" // no arguments: a picture fills the warp as it is
	keyMotifKept  calc.Key = "motif.kept"  // the name, by which nothing is kept
	keyMotifNear  calc.Key = "motif.near"  // the name, the nearest names
)

// lastDesign is what one calls the design that she made last and has not named.
const lastDesign = "last"

// motifSources are the arguments of which each makes a design.
var motifSources = []string{"text", "chart", "picture", "ground", "design"}

// wishParams are the arguments that shape a design: with a picture they are all
// that is kept of it. Whatever is said of the warp, and of how close she beats, is
// the weaver's own.
var wishParams = []bot.Param{
	{Name: "text", Kind: bot.Words, First: true, Max: strconv.Itoa(lace.MaxLetters)},
	{Name: "chart", Kind: bot.LongText, Unless: []string{"text", "picture", "ground", "design"}},
	{Name: "ground", Kind: bot.Choice, Choices: groundNames()},
	{Name: "size", Kind: bot.Count, Min: "1", Max: "24"},
	{Name: "gap", Kind: bot.Count, Min: "1", Max: "24"},
	{Name: "cell", Kind: bot.Count, Min: "1", Max: "2000"},
	{Name: "across", Kind: bot.Count, Min: "0", Max: "2000"},
	{Name: "rows", Kind: bot.Count, Min: "1", Max: "1000"},
	{Name: "mirror", Kind: bot.Choice, Choices: []string{"yes"}},
	{Name: "margin", Kind: bot.Count, Min: "0", Max: "1000"},
	{Name: "panel", Kind: bot.Count, Min: "1", Max: "2000"},
	{Name: "light", Kind: bot.Choice, Choices: []string{"yes"}},
	{Name: "asis", Kind: bot.Choice, Choices: []string{"yes"}},
	{Name: "passes", Kind: bot.Count, Min: "3", Max: "99"},
	{Name: "way", Kind: bot.Choice, Choices: []string{"one", "two"}},
}

func groundNames() (names []string) {
	for _, g := range lace.Grounds() {
		names = append(names, g.Name)
	}
	return names
}

// wishReader reads the arguments of a design that is kept.
var wishReader = &bot.Command{Name: "motif", Params: wishParams}

// wish is a design made of holes that somebody asks for, before it is laid on a
// warp.
type wish struct {
	kept    class.Design // as it is kept, or is to be
	args    bot.Args     // of wishParams
	tones   [][]float64  // one repeat; nil where it is made from the picture
	apart   int          // plain places between two repeats
	picture paper.Tones
}

// wished is the design that the arguments of motif ask for. It has an ID when it
// is one that is kept, and is asked for as it is.
func (d *Desk) wished(ctx context.Context, c *bot.Call) (wish, error) {
	source, err := sourceSaid(c.Args)
	if err != nil {
		return wish{}, err
	}
	var kept class.Design
	var base bot.Args
	switch source {
	case "design":
		if kept, err = d.designNamed(ctx, c, "design", c.Args.Text("design")); err == nil {
			base, err = wishReader.ArgsOf(kept.Asked, measure.Imperial)
		}
	case "picture":
		var raw []byte
		if raw, err = sent(ctx, c); err == nil && isChart(raw) {
			base, err = chartSent(raw)
		} else if err == nil {
			kept.Picture, err = pictureSent(ctx, raw)
		}
	}
	if err != nil {
		return wish{}, err
	}
	line, err := wishLine(c.Args, base)
	if err != nil {
		return wish{}, err
	}
	if line != kept.Asked || c.Args.Has("name") {
		kept = class.Design{Asked: line, Picture: kept.Picture}
	}
	w, err := wishOf(kept)
	if err != nil {
		return w, err
	}
	return w, w.plausible(c.Args)
}

// sourceSaid is the one argument that says what the design is made from.
func sourceSaid(a bot.Args) (string, error) {
	var said []string
	for _, name := range motifSources {
		if a.Has(name) {
			said = append(said, name)
		}
	}
	switch len(said) {
	case 0:
		return "", missing(keyMotifNone, "picture", "motif text:MAY")
	case 1:
		return said[0], nil
	}
	return "", &calc.Fault{Code: calc.Conflict, Key: keyMotifTwo, Field: said[1], Args: []any{said[0], said[1]}, Example: "motif text:MAY"}
}

// decoding has one picture opened at a time in the whole process: one alone may
// take a hundred megabytes while it is.
var decoding = make(chan struct{}, 1)

// sent is the file that came.
func sent(ctx context.Context, c *bot.Call) ([]byte, error) {
	f, _ := c.Args.File("picture")
	return f.Read(ctx, bot.MaxFile)
}

// isChart tells whether a file is a text that begins as a chart does: a chart too
// large to type comes as a file.
func isChart(raw []byte) bool {
	text := strings.TrimSpace(string(raw))
	return utf8.Valid(raw) && !strings.ContainsRune(text, 0) && text != "" && strings.ContainsAny(text[:1], ".oO`")
}

// chartSent is the chart in a file, as if it had been typed.
func chartSent(raw []byte) (bot.Args, error) {
	chart, err := lace.ParseChart(string(raw))
	if err != nil {
		return bot.Args{}, err
	}
	return wishReader.ArgsOf(bot.Written("chart", strings.Join(chart.Strings(), "/")), measure.Imperial)
}

// pictureSent is the picture in a file, as it is kept. It waits for others that are
// being opened.
func pictureSent(ctx context.Context, raw []byte) ([]byte, error) {
	select {
	case decoding <- struct{}{}:
		defer func() { <-decoding }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	tones, err := paper.ReadTones(raw)
	if err != nil {
		return nil, err
	}
	return tones.PNG(), nil
}

// wishLine writes the arguments of a design, those of a over those of base. A
// chart is written the first woven row first, whichever way it came.
func wishLine(a, base bot.Args) (string, error) {
	var line []string
	for _, p := range wishParams {
		from := a
		if !a.Has(p.Name) {
			if from = base; !base.Has(p.Name) {
				continue
			}
		}
		if p.Name != "chart" {
			line = append(line, written(from, p))
			continue
		}
		chart, err := lace.ParseChart(from.Text("chart"))
		if err != nil {
			return "", err
		}
		if a.Text("top") == "first" {
			chart = slices.Clone(chart)
			slices.Reverse(chart)
		}
		line = append(line, bot.Written("chart", strings.Join(chart.Strings(), "/")))
	}
	return strings.Join(line, " "), nil
}

// wishOf reads a design as it is kept.
func wishOf(kept class.Design) (w wish, err error) {
	w.kept = kept
	if w.args, err = wishReader.ArgsOf(kept.Asked, measure.Imperial); err != nil {
		return w, err
	}
	var chart lace.Chart
	switch {
	case len(kept.Picture) > 0:
		w.picture, err = paper.ReadTones(kept.Picture)
		return w, err
	case w.args.Has("text"):
		chart, err = lace.Letters(w.args.Text("text"))
		w.apart = lace.WordGap // or the letters of two would touch
	case w.args.Has("ground"):
		if chart, err = groundOf(w.args); err == nil && !w.args.Has("mirror") {
			chart, w.apart = withoutGap(chart)
		}
	default:
		chart, err = lace.ParseChart(w.args.Text("chart"))
	}
	w.tones = chart.Tones()
	return w, err
}

func groundOf(a bot.Args) (lace.Chart, error) {
	sizes := map[string]int{}
	for _, name := range []string{"size", "gap"} {
		if a.Has(name) {
			sizes[name] = a.Count(name)
		}
	}
	i := slices.IndexFunc(lace.Grounds(), func(g lace.Ground) bool { return g.Name == a.Text("ground") })
	return lace.Grounds()[i].Chart(sizes)
}

// withoutGap is a ground without the plain places at its right, and how many those
// are: they keep two repeats apart, and would push the last one from the middle of
// the warp. Mirrored repeats share the last place, so that it stays.
func withoutGap(ground lace.Chart) (lace.Chart, int) {
	columns := ground.Columns()
	for columns > 1 && !slices.ContainsFunc(ground, func(row []bool) bool { return row[columns-1] }) {
		columns--
	}
	gap := ground.Columns() - columns
	for i, row := range ground {
		ground[i] = row[:columns]
	}
	return ground, gap
}

// isPicture tells that it is made from a picture, which fits any warp.
func (w wish) isPicture() bool { return len(w.kept.Picture) > 0 }

// plausible refuses arguments that mean nothing for this design, which somebody
// who wrote them takes to mean something.
func (w wish) plausible(said bot.Args) error {
	for _, only := range []struct {
		name, with string
		holds      bool
		example    string
	}{
		{"size", "ground", w.args.Has("ground"), "motif ground:diamond size:3"},
		{"gap", "ground", w.args.Has("ground"), "motif ground:diamond gap:2"},
		{"light", "picture", w.isPicture(), "motif text:MAY"},
		{"top", "chart", w.args.Has("chart"), `motif chart:"ooo/.o." top:first`},
	} {
		if said.Has(only.name) && !only.holds {
			return &calc.Fault{Code: calc.Conflict, Key: keyMotifOnly, Field: only.name, Args: []any{only.name, only.with}, Example: only.example}
		}
	}
	if w.isPicture() && w.args.Has("panel") {
		return &calc.Fault{Code: calc.Conflict, Key: keyMotifPanel, Field: "panel", Example: "across:1"}
	}
	return nil
}

// designNamed finds a design of the asker's, or else of the class that she means.
// field is the argument that was read.
func (d *Desk) designNamed(ctx context.Context, c *bot.Call, field, name string) (class.Design, error) {
	who, err := d.standing(ctx, c)
	if err != nil {
		return class.Design{}, err
	}
	if class.FoldedName(name) == lastDesign {
		return d.designLast(ctx, c, field)
	}
	kept, err := d.Store.Design(ctx, c.Request.From, who.Joined(), name)
	if isNone(err) {
		return kept, d.notKept(ctx, c, who.Joined(), field, name)
	}
	return kept, err
}

// designLast is the design that the asker made last, whatever its name.
func (d *Desk) designLast(ctx context.Context, c *bot.Call, field string) (class.Design, error) {
	list, err := d.Store.Designs(ctx, c.Request.From, "")
	if err != nil {
		return class.Design{}, err
	}
	if len(list) == 0 {
		return class.Design{}, &calc.Fault{Code: calc.Conflict, Key: keyDesignLast, Field: field, Example: "motif text:MAY"}
	}
	last := slices.MaxFunc(list, func(a, b class.Design) int { return a.Made.Compare(b.Made) })
	return d.Store.Design(ctx, c.Request.From, "", string(last.ID))
}

// notKept says that there is no such design, and which may have been meant.
func (d *Desk) notKept(ctx context.Context, c *bot.Call, in class.ID, field, name string) error {
	shown := cleanLine(name, maxName)
	list, err := d.Store.Designs(ctx, c.Request.From, in)
	if err != nil {
		return err
	}
	if near := bot.Nearest(shown, designNames(list), 3); len(near) > 0 {
		return &calc.Fault{Code: calc.BadValue, Key: keyMotifNear, Field: field, Args: []any{shown, near}, Example: bot.Written(field, near[0])}
	}
	return &calc.Fault{Code: calc.BadValue, Key: keyMotifKept, Field: field, Args: []any{shown}, Example: "designs"}
}

func designNames(list []class.Design) (names []string) {
	for _, d := range list {
		if d.Name != "" {
			names = append(names, d.Name)
		}
	}
	return names
}
