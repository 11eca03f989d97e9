package lesson

import (
	"context"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/lace"
)

// Sentences about a design as a plan of rows.
const (
	keyDesignAnd     calc.Key = "design.and"        // another argument that says which groups the rows have
	keyDesignNotHere calc.Key = "design.class_only" // the name: it is not shared with the class
)

// designAsked is the design that the arguments of a row plan name, as the asker
// knows it; nil where they name none.
func (d *Desk) designAsked(ctx context.Context, c *bot.Call) (*wish, error) {
	if !c.Args.Has("design") {
		return nil, nil
	}
	if err := designAlone(c.Args); err != nil {
		return nil, err
	}
	kept, err := d.designNamed(ctx, c, "design", c.Args.Text("design"))
	if err != nil {
		return nil, err
	}
	w, err := wishOf(kept)
	return &w, err
}

// designAlone refuses other arguments that say which groups the rows have.
func designAlone(a bot.Args) error {
	for _, name := range append(otherwise("design"), "leftover", "edge") {
		if a.Has(name) {
			return &calc.Fault{Code: calc.Conflict, Key: keyDesignAnd, Field: name, Args: []any{name}, Example: "row design:leaf"}
		}
	}
	return nil
}

// mergedDesign is merged, and the design that is then asked for: her own by the
// name that she says, or the class's by the name that the session says.
func (d *Desk) mergedDesign(ctx context.Context, c *bot.Call, row *bot.Command, e evening) (design *wish, hers []string, err error) {
	if c.Args.Has("design") {
		if design, err = d.designAsked(ctx, c); err != nil {
			return nil, nil, err
		}
	}
	if hers, err = merged(c, row, e.session.Work); err != nil || design != nil || !c.Args.Has("design") {
		return design, hers, err
	}
	if err := designAlone(c.Args); err != nil {
		return nil, nil, err
	}
	w, err := d.designOfClass(ctx, e.who.Class, c.Args.Text("design"))
	return &w, hers, err
}

// designOfClass is a design that is shared with a class: whatever a student has of
// that name herself, the work of the evening is this.
func (d *Desk) designOfClass(ctx context.Context, k class.Class, name string) (wish, error) {
	kept, err := d.Store.Design(ctx, bot.Account{}, k.ID, name)
	if isNone(err) {
		return wish{}, &calc.Fault{
			Code: calc.Conflict, Key: keyDesignNotHere, Field: "design", Args: []any{cleanLine(name, maxName), k.Name},
			Example: "designs " + bot.Written("share", name) + " session:next",
		}
	}
	if err != nil {
		return wish{}, err
	}
	return wishOf(kept)
}

// designTheirs tells a teacher who has a design of that name herself that the work
// is not hers but the one that the class shares.
func (d *Desk) designTheirs(ctx context.Context, c *bot.Call, who class.Standing, name string) ([]bot.Block, error) {
	own, err := d.Store.Design(ctx, c.Request.From, who.Class.ID, name)
	if err != nil || own.Class == who.Class.ID {
		return nil, err
	}
	theirs, err := d.Store.Design(ctx, bot.Account{}, who.Class.ID, name)
	if err != nil {
		return nil, err
	}
	names, err := d.makers(ctx, c, who)
	return []bot.Block{bot.Paragraph(c.Say("work.design_theirs", makerSaid(c, names, theirs)))}, err
}

// sampleDesign is the design of a session's work on a sample warp as wide as it
// needs.
func (d *Desk) sampleDesign(ctx context.Context, k class.Class, a bot.Args) (lace.Pattern, error) {
	if err := designAlone(a); err != nil {
		return lace.Pattern{}, err
	}
	w, err := d.designOfClass(ctx, k, a.Text("design"))
	if err != nil {
		return lace.Pattern{}, err
	}
	warp := theWarp{ends: usualSample, sett: usualHeddle}
	f, err := w.on(warp, a)
	if fault, bad := asFault(err); bad && fault.Key == lace.KeyChartWide {
		warp.ends, _ = fault.Args[1].(int) // those that it needs
		f, err = w.on(warp, a)
	}
	return f.Pattern, err
}

// designLineSaid begins the line about an evening's work: the design, and what the
// teacher says of it.
func designLineSaid(c *bot.Call, a bot.Args) []string {
	parts := []string{c.Say("work.design", cleanLine(a.Text("design"), maxName))}
	if a.Has("passes") {
		parts = append(parts, c.Texts.Count(c.Units, "work.passes", a.Count("passes")))
	}
	if a.Has("way") {
		parts = append(parts, c.Say(wayKeys[a.Text("way")]))
	}
	if a.Has("rows") {
		parts = append(parts, c.Texts.Count(c.Units, "row.rows", a.Count("rows")))
	}
	return parts
}

var wayKeys = map[string]calc.Key{"one": "row.way.one", "two": "row.way.two"}
