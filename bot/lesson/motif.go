package lesson

import (
	"context"
	"slices"
	"strconv"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/lace"
)

// Sentences of motif, beside those of its answers.
const (
	keyDesignTaken calc.Key = "designs.taken"    // the name, by which she has another design
	keyDesignName  calc.Key = "designs.bad_name" // what is no name of a design
	keyDesignMany  calc.Key = "designs.many"     // how many one person may keep
)

// motifParams are as many as a chat offers for one command: of the warp those
// that are said most, and nothing of how the weft is wound.
var motifParams = slices.Concat(
	wishParams[:2],
	[]bot.Param{{Name: "picture", Kind: bot.Enclosed}},
	wishParams[2:3],
	[]bot.Param{{Name: "design", Kind: bot.Words, Max: strconv.Itoa(maxName)}},
	withDefaults(wishParams[3:]),
	[]bot.Param{
		{Name: "top", Kind: bot.Choice, Default: "last", Choices: []string{"last", "first"}},
		{Name: "name", Kind: bot.Words, Max: strconv.Itoa(maxName)},
		{Name: "ends", Kind: bot.Count, Min: minEnds, Max: maxEnds}, // more of the warp than this and no chat lists them all
	},
	warpParams[1:3], warpParams[4:],
	[]bot.Param{{Name: "ppi", Kind: bot.Density, Min: minSett, Max: maxSett}},
)

// withDefaults are the arguments of a design as people are told of them; what is
// kept has only what was said.
func withDefaults(params []bot.Param) []bot.Param {
	told := slices.Clone(params)
	for i := range told {
		switch told[i].Name {
		case "passes":
			told[i].Default = strconv.Itoa(lace.MinPasses)
		case "way":
			told[i].Default = "one"
		}
	}
	return told
}

func motifCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "motif", Params: motifParams,
		Examples: []string{
			"motif text:MAY ends:97 rightmost:hole",
			`motif chart:"..o../.o.o./o...o/.o.o./..o.." across:0 rows:20 mirror:yes name:"five points" width:15in heddle:10 from:left`,
			"motif ground:diamond size:3 gap:2 rows:20 margin:4 cell:2 passes:5 way:two ends:97 ppi:12",
			`motif chart:"ooo/.o." top:first asis:yes panel:1 ends:48`,
			"motif design:leaf ends:48",
			"motif light:yes ends:97",
		},
		Run: d.motif,
	}
}

// motif lays a design made of holes on the asker's warp and tells the plan.
//
// It changes what is kept and yet is no command that Changes: it keeps the same
// again when the same request comes again, and a picture must not be opened, nor
// a thousand rows be planned, while everybody else's changes wait for it.
func (d *Desk) motif(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	w, err := d.wished(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	if c.Args.Has("name") {
		if w.kept.Name, err = designName("name", c.Args.Text("name")); err != nil {
			return bot.Reply{}, err
		}
	}
	warp, err := warpOf(ctx, c, d.Store)
	if err != nil {
		return bot.Reply{}, err
	}
	f, bad := w.on(warp, c.Args)
	if fault, hers := asFault(bad); bad != nil && (!hers || fault.Key != lace.KeyChartWide) {
		return bot.Reply{}, bad // not even on another warp
	}
	if w.kept.ID == "" {
		if w.kept, err = d.keepWish(ctx, c, w.kept); err != nil {
			return bot.Reply{}, err
		}
	}
	if bad != nil {
		fault, _ := asFault(bad)
		fault.Example += warpWritten(c)
		if w.kept.ID == "" { // there is no last one to ask for again
			fault.Example = "panel:1"
		}
		return bot.Reply{}, fault
	}
	f.wish = w
	t, err := designText(c, warp, f)
	if err != nil {
		return bot.Reply{}, err
	}
	r := t.reply(t.designHead())
	if w.kept.ID != "" {
		r.Buttons, err = d.designButtons(ctx, c, f)
	}
	return r, err
}

// keepWish keeps a design under its name, or as the last one; without an ID where
// nothing is ever kept.
func (d *Desk) keepWish(ctx context.Context, c *bot.Call, kept class.Design) (class.Design, error) {
	kept.Made = d.Now()
	now := kept
	err := d.Store.Tx(ctx, func(ctx context.Context) (err error) {
		if kept.Name != "" {
			if err := d.mayKeep(ctx, c, "name", kept); err != nil {
				return err
			}
		}
		now, err = d.Store.KeepDesign(ctx, c.Request.From, kept)
		return err
	})
	switch {
	case isNone(err) && kept.Name == "":
		return kept, nil
	case isNone(err):
		return kept, &calc.Fault{Code: calc.Conflict, Key: keyNothingKept, Example: "motif text:MAY"}
	}
	return now, err
}

// mayKeep refuses to put a design in the place of another that its owner has by
// that name, and more of them than one person may have.
func (d *Desk) mayKeep(ctx context.Context, c *bot.Call, field string, kept class.Design) error {
	old, err := d.Store.Design(ctx, c.Request.From, "", kept.Name)
	if err == nil && (old.Asked != kept.Asked || !slices.Equal(old.Picture, kept.Picture)) {
		return &calc.Fault{Code: calc.Conflict, Key: keyDesignTaken, Field: field, Args: []any{old.Name}, Example: bot.Written(field, secondName(old.Name))}
	}
	if err == nil || !isNone(err) {
		return err
	}
	list, err := d.Store.Designs(ctx, c.Request.From, "")
	names := designNames(list)
	if err != nil || len(names) < class.MostDesigns {
		return err
	}
	return &calc.Fault{Code: bot.Busy, Key: keyDesignMany, Args: []any{class.MostDesigns}, Example: "designs " + bot.Written("drop", names[len(names)-1])}
}

// secondName is a name beside another that is taken.
func secondName(name string) string { return cleanLine(name, maxName-4) + " 2" }

// designName makes of what someone writes the name of a design.
func designName(field, text string) (string, error) {
	name := chosenName(text)
	if name == "" || class.FoldedName(name) == lastDesign {
		return "", &calc.Fault{Code: calc.BadValue, Key: keyDesignName, Field: field, Args: []any{cleanLine(text, maxName)}, Example: bot.Written(field, "leaf")}
	}
	return name, nil
}
