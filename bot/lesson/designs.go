package lesson

import (
	"context"
	"errors"
	"slices"
	"strconv"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/calc"
	"weftroom/calc/measure"
)

// Sentences of designs, beside those of its answers.
const (
	keyDesignsTwo    calc.Key = "designs.two"     // the names of two arguments that are each a thing to do
	keyDesignsOnly   calc.Key = "designs.only"    // the argument, that without which it means nothing
	keyDesignLast    calc.Key = "designs.no_last" // no arguments: there is nothing without a name
	keyDesignUnnamed calc.Key = "designs.unnamed" // no arguments: what is shared needs a name
	keyDesignTheirs  calc.Key = "designs.theirs"  // the name, whose design it is
	keyDesignShared  calc.Key = "designs.shared"  // the name, of which the class has another; the class
	keyDesignCrowd   calc.Key = "designs.crowd"   // how many one class may share; the class
	keyDesignWork    calc.Key = "designs.work"    // the name, the session's number, the class
)

// designDoings are what can be done with a design, each an argument that names it.
var designDoings = []string{"keep", "show", "share", "unshare", "drop"}

func designsCommand(d *Desk) *bot.Command {
	var params []bot.Param
	for _, doing := range designDoings {
		params = append(params, bot.Param{Name: doing, Kind: bot.Words, Max: strconv.Itoa(maxName)})
	}
	return &bot.Command{
		Name: "designs", Changes: true,
		Params:   append(params, bot.Param{Name: "session", Kind: bot.Words, Max: "20"}, sure),
		Examples: []string{"designs", "designs keep:leaf", "designs show:leaf", "designs share:leaf session:next", "designs unshare:leaf", "designs drop:leaf sure:yes"},
		Run:      d.designs,
	}
}

// designs lists the designs that the asker may use, or does one thing with one.
func (d *Desk) designs(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	doing, err := doingSaid(c.Args)
	if err != nil {
		return bot.Reply{}, err
	}
	name := c.Args.Text(doing)
	switch doing {
	case "keep":
		return d.keepDesign(ctx, c, name)
	case "show":
		return d.showDesign(ctx, c, name)
	case "share":
		return d.shareDesign(ctx, c, name)
	case "unshare":
		return d.unshareDesign(ctx, c, name)
	case "drop":
		return d.dropDesign(ctx, c, name)
	}
	return d.listDesigns(ctx, c)
}

// doingSaid is what is to be done, "" for a list.
func doingSaid(a bot.Args) (string, error) {
	doing := ""
	for _, name := range designDoings {
		switch {
		case !a.Has(name):
		case doing != "":
			return "", &calc.Fault{Code: calc.Conflict, Key: keyDesignsTwo, Field: name, Args: []any{doing, name}, Example: "designs show:leaf"}
		default:
			doing = name
		}
	}
	if a.Has("session") && doing != "share" {
		return "", &calc.Fault{Code: calc.Conflict, Key: keyDesignsOnly, Field: "session", Args: []any{"session", "share"}, Example: "designs share:leaf session:next"}
	}
	return doing, nil
}

// keepDesign gives the last design a name.
func (d *Desk) keepDesign(ctx context.Context, c *bot.Call, text string) (bot.Reply, error) {
	name, err := designName("keep", text)
	if err != nil {
		return bot.Reply{}, err
	}
	kept, err := d.Store.Design(ctx, c.Request.From, "", "")
	if isNone(err) {
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyDesignLast, Example: "motif text:MAY"}
	}
	if err != nil {
		return bot.Reply{}, err
	}
	kept.Name = name
	err = d.mayKeep(ctx, c, "keep", kept)
	if f, taken := asFault(err); taken && f.Key == keyDesignTaken {
		if err := d.mayReplace(ctx, c, name); err != nil {
			return bot.Reply{}, err
		}
		if !c.Args.Has("sure") {
			return designAsk(c, "designs.replace", "designs.button.replace", "keep", name), nil
		}
		err = nil
	}
	if err != nil {
		return bot.Reply{}, err
	}
	if kept, err = d.Store.NameDesign(ctx, kept.ID, name); err != nil {
		return bot.Reply{}, err
	}
	return d.designDone(ctx, c, kept, "kept", c.Say("designs.kept", name), c.Say("designs.kept_how", bot.Written("design", name), "designs "+bot.Written("share", name)))
}

// mayReplace refuses to put another design in the place of one that a session to
// come is about: who shared it is not always who teaches.
func (d *Desk) mayReplace(ctx context.Context, c *bot.Call, name string) error {
	old, err := d.Store.Design(ctx, c.Request.From, "", name)
	if err != nil {
		return err
	}
	return d.notWork(ctx, old)
}

// designAsk asks whether she is sure.
func designAsk(c *bot.Call, key, button calc.Key, doing, name string) bot.Reply {
	return bot.Reply{
		Title:   c.Say(key, name),
		Buttons: []bot.Button{{Label: c.Say(button), Line: "designs " + bot.Written(doing, name) + " sure:yes"}},
		Data:    designsData{Designs: []designLine{}},
	}
}

// designDone is the answer to what was done with one design.
func (d *Desk) designDone(ctx context.Context, c *bot.Call, kept class.Design, done, title, more string) (bot.Reply, error) {
	data, err := d.designTold(ctx, c, kept, done)
	r := bot.Reply{Title: title, Data: data}
	if more != "" {
		r.Body = []bot.Block{bot.Paragraph(more)}
	}
	return r, err
}

// showDesign is motif of a design by its name. For scripts it tells of the design,
// and leaves the whole plan to motif: what changes anything is kept with its answer.
func (d *Desk) showDesign(ctx context.Context, c *bot.Call, name string) (bot.Reply, error) {
	own := *c
	var err error
	if own.Args, err = motifReader.ArgsOf(bot.Written("design", name), c.Units); err != nil {
		return bot.Reply{}, err
	}
	r, err := d.motif(ctx, &own)
	if err != nil {
		return r, err
	}
	kept, err := d.designNamed(ctx, c, "show", name)
	if err != nil {
		return r, err
	}
	r.Data, err = d.designTold(ctx, c, kept, "")
	return r, err
}

// designTold is one design for scripts, and what was done with it.
func (d *Desk) designTold(ctx context.Context, c *bot.Call, kept class.Design, done string) (designsData, error) {
	who, err := d.standing(ctx, c)
	if err != nil {
		return designsData{}, err
	}
	names, err := d.makers(ctx, c, who)
	if err != nil {
		return designsData{}, err
	}
	line, err := designLineOf(kept, who, names)
	return designsData{Designs: []designLine{line}, Done: said(done)}, err
}

// motifReader reads what a design is asked for by.
var motifReader = &bot.Command{Name: "motif", Params: motifParams}

// shareDesign shares a design with the class, and has it be the work of a session
// if one is named, which is for the teacher.
func (d *Desk) shareDesign(ctx context.Context, c *bot.Call, name string) (bot.Reply, error) {
	if c.Args.Has("session") && c.Role < bot.Teacher {
		return bot.Reply{}, &calc.Fault{Code: bot.NotAllowed, Key: bot.KeyRole, Args: []any{"session", calc.Key("role.teacher")}, Example: "designs " + bot.Written("share", name)}
	}
	who, err := d.asMember(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	kept, err := d.designNamed(ctx, c, "share", name)
	switch {
	case err != nil:
		return bot.Reply{}, err
	case kept.Name == "":
		return bot.Reply{}, &calc.Fault{Code: calc.Conflict, Key: keyDesignUnnamed, Field: "share", Example: "designs keep:leaf"}
	}
	left := kept.Class // what it is shared with until now
	if left != who.Class.ID {
		if err := d.notWork(ctx, kept); err != nil {
			return bot.Reply{}, err
		}
		if err := d.mayShare(ctx, who.Class); err != nil {
			return bot.Reply{}, err
		}
	}
	err = d.Store.ShareDesign(ctx, kept.ID, who.Class.ID)
	if errors.Is(err, class.ErrTaken) {
		return bot.Reply{}, &calc.Fault{
			Code: calc.Conflict, Key: keyDesignShared, Field: "share", Args: []any{kept.Name, who.Class.Name},
			Example: "motif " + bot.Written("design", kept.Name) + " " + bot.Written("name", secondName(kept.Name)),
		}
	}
	if err != nil {
		return bot.Reply{}, err
	}
	kept.Class = who.Class.ID
	r, err := d.designDone(ctx, c, kept, "shared", c.Say("designs.done_shared", kept.Name, who.Class.Name), c.Say("designs.shared_how", "row "+bot.Written("design", kept.Name), "start "+bot.Written("design", kept.Name)))
	if err == nil && left != "" && left != who.Class.ID {
		err = d.tellLeft(ctx, c, left, &r)
	}
	if err != nil || !c.Args.Has("session") {
		return r, err
	}
	return d.designTonight(ctx, c, kept, r)
}

// mayShare refuses more designs than one class may share.
func (d *Desk) mayShare(ctx context.Context, k class.Class) error {
	shared, err := d.Store.Designs(ctx, bot.Account{}, k.ID)
	if err != nil || len(shared) < class.MostShared {
		return err
	}
	return &calc.Fault{Code: bot.Busy, Key: keyDesignCrowd, Args: []any{class.MostShared, k.Name}, Example: "designs"}
}

// tellLeft tells that a class has the design no more, since it went to another.
func (d *Desk) tellLeft(ctx context.Context, c *bot.Call, left class.ID, r *bot.Reply) error {
	k, err := d.Store.Class(ctx, left)
	if isNone(err) {
		return nil
	}
	r.Body = append(r.Body, bot.Paragraph(c.Say("designs.left", k.Name)))
	return err
}

// designTonight has a design be the work of a session, as session work does.
func (d *Desk) designTonight(ctx context.Context, c *bot.Call, kept class.Design, r bot.Reply) (bot.Reply, error) {
	own := *c
	var err error
	line := bot.Written("session", c.Args.Text("session")) + " " + bot.Written("design", kept.Name)
	if own.Args, err = sessionWork(d).ArgsOf(line, c.Units); err != nil {
		return bot.Reply{}, err
	}
	set, err := d.setWork(ctx, &own)
	if err != nil {
		return bot.Reply{}, err
	}
	s, err := d.sessionWritten(ctx, class.Class{ID: kept.Class}, c.Args.Text("session"))
	if err != nil {
		return bot.Reply{}, err
	}
	data := r.Data.(designsData)
	data.Session = &s.Number
	r.Body, r.Data = slices.Concat(r.Body[1:], []bot.Block{bot.Heading(set.Title)}, set.Body), data
	return r, nil
}

// unshareDesign takes a design back from its class. One that is nobody's would be
// forgotten by that.
func (d *Desk) unshareDesign(ctx context.Context, c *bot.Call, name string) (bot.Reply, error) {
	kept, hers, err := d.ownDesign(ctx, c, "unshare", name)
	if err != nil {
		return bot.Reply{}, err
	}
	if kept.Owner == "" {
		return d.dropDesign(ctx, c, name)
	}
	return d.takeBack(ctx, c, kept, hers)
}

// takeBack has a class share a design no more, which its maker keeps.
func (d *Desk) takeBack(ctx context.Context, c *bot.Call, kept class.Design, hers bool) (bot.Reply, error) {
	if err := d.notWork(ctx, kept); err != nil {
		return bot.Reply{}, err
	}
	if err := d.Store.ShareDesign(ctx, kept.ID, ""); err != nil {
		return bot.Reply{}, err
	}
	kept.Class = ""
	title := c.Say("designs.unshared", kept.Name)
	if !hers {
		title = c.Say("designs.taken_back", kept.Name)
	}
	return d.designDone(ctx, c, kept, "unshared", title, "")
}

// dropDesign forgets a design, once she has said that she is sure. Somebody else's
// is only taken back from the class.
func (d *Desk) dropDesign(ctx context.Context, c *bot.Call, name string) (bot.Reply, error) {
	kept, hers, err := d.ownDesign(ctx, c, "drop", name)
	if err != nil {
		return bot.Reply{}, err
	}
	if kept.Owner != "" && !hers {
		return d.takeBack(ctx, c, kept, hers)
	}
	if err := d.notWork(ctx, kept); err != nil {
		return bot.Reply{}, err
	}
	if !c.Args.Has("sure") {
		key := calc.Key("designs.drop")
		if kept.Class != "" {
			key = "designs.drop_shared"
		}
		return designAsk(c, key, "designs.button.drop", "drop", called(kept)), nil
	}
	if err := d.Store.DropDesign(ctx, kept.ID); err != nil {
		return bot.Reply{}, err
	}
	return d.designDone(ctx, c, kept, "dropped", c.Say("designs.dropped", called(kept)), "")
}

// ownDesign is a design that the asker may take away, and whether it is hers. It is,
// or, for those who lead the class, it is one that the class has of somebody else or
// of someone forgotten.
func (d *Desk) ownDesign(ctx context.Context, c *bot.Call, field, name string) (kept class.Design, hers bool, err error) {
	if kept, err = d.designNamed(ctx, c, field, name); err != nil {
		return kept, false, err
	}
	who, err := d.standing(ctx, c)
	if hers = kept.Owner != "" && kept.Owner == who.Person.ID; err != nil || hers || c.Role >= bot.Helper {
		return kept, hers, err
	}
	names, err := d.makers(ctx, c, who)
	if err != nil {
		return kept, false, err
	}
	return kept, false, &calc.Fault{Code: bot.NotAllowed, Key: keyDesignTheirs, Field: field, Args: []any{kept.Name, makerSaid(c, names, kept)}, Example: "designs"}
}

// notWork refuses to take away what a session to come is about.
func (d *Desk) notWork(ctx context.Context, kept class.Design) error {
	if kept.Class == "" {
		return nil
	}
	sessions, err := d.Store.SessionsOf(ctx, kept.Class, d.Now())
	if err != nil {
		return err
	}
	for _, s := range sessions {
		its, err := patternReader.ArgsOf(s.Work.Row, measure.Imperial)
		said := its.Text("design")
		isIt := class.FoldedName(said) == class.FoldedName(kept.Name) || said == string(kept.ID)
		if err != nil || s.Cancelled || !isIt {
			continue
		}
		k, err := d.Store.Class(ctx, kept.Class)
		if err != nil {
			return err
		}
		return &calc.Fault{Code: calc.Conflict, Key: keyDesignWork, Args: []any{kept.Name, s.Number, k.Name}, Example: "session work " + strconv.Itoa(s.Number) + " raised:3 rows:4"}
	}
	return nil
}
