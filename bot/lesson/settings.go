package lesson

import (
	"context"
	"errors"
	"slices"
	"strconv"
	"strings"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/timetable"
	"weftroom/calc"
	"weftroom/calc/measure"
)

// Sentences of settings, beside those of its answers.
const (
	keyNotHerClass calc.Key = "settings.not_her_class" // what was written, her classes by number
	keyHerClasses  calc.Key = "settings.several"       // what was written, her classes by number
	keyInNoClass   calc.Key = "settings.in_no_class"   // no arguments
	keyClassAlone  calc.Key = "settings.class_alone"   // no arguments: not where others read which classes she is in
)

// mostButtons is how many classes are offered as buttons; there are their names
// for more.
const mostButtons = 5

// settingsData are a person's settings for scripts; what she has not said is
// null, and then her class's holds.
type settingsData struct {
	Name    *string   `json:"name"`
	Zone    *string   `json:"zone"`
	Now     *timeData `json:"now"` // on her clock
	Units   *string   `json:"units"`
	Hand    *string   `json:"hand"`
	Quiet   *string   `json:"quiet"`
	Answers *string   `json:"answers"`
	Place   string    `json:"place"` // in a plan, to her teachers: shown or hidden
	Class   *string   `json:"class"` // that is meant in direct messages
}

func settingsCommand(d *Desk) *bot.Command {
	return &bot.Command{
		Name: "settings", Aliases: []string{"setting"}, Changes: true,
		Params: []bot.Param{
			{Name: "name", Kind: bot.Words, Max: "60"},
			{Name: "zone", Kind: bot.Words, Max: "60"},
			unitsParam("units"),
			{Name: "hand", Kind: bot.Choice, Choices: []string{"right", "left"}},
			{Name: "quiet", Kind: bot.Words, Max: "40"},
			{Name: "answers", Kind: bot.Choice, Choices: []string{"room", "direct"}},
			{Name: "place", Kind: bot.Choice, Choices: []string{placeNames[false], placeNames[true]}},
			{Name: "class", Kind: bot.Words, Max: "60"},
		},
		Examples: []string{
			"settings", "settings zone:Lisbon quiet:22:00-7:00", "settings units:centimetres hand:left answers:direct",
			`settings name:Maren`, "settings place:hidden", `settings class:"Tarnholm lace"`,
		},
		Run: d.settings,
	}
}

// settings changes what is said, and shows all.
func (d *Desk) settings(ctx context.Context, c *bot.Call) (bot.Reply, error) {
	changes := false
	for _, name := range []string{"name", "zone", "units", "hand", "quiet", "answers", "place", "class"} {
		changes = changes || c.Args.Has(name)
	}
	if changes {
		if err := d.setHer(ctx, c); err != nil {
			return bot.Reply{}, err
		}
	}
	s, err := d.standing(ctx, c)
	if err != nil {
		return bot.Reply{}, err
	}
	return d.settingsReply(ctx, c, s, changes)
}

func (d *Desk) setHer(ctx context.Context, c *bot.Call) error {
	p, err := d.herself(ctx, c)
	if err != nil {
		return err
	}
	before := p
	if p, err = d.settingsSaid(ctx, c, p); err != nil {
		return err
	}
	if err := d.Store.PutPerson(ctx, p); err != nil {
		return err
	}
	if p.Units != before.Units {
		c.Units = p.Units
		if err := d.loomInUnits(ctx, c.Request.From, p.Units); err != nil {
			return err
		}
	}
	if p.Zone != before.Zone || p.Quiet != before.Quiet {
		return d.replanHer(ctx, p.ID)
	}
	return nil
}

// settingsSaid lays the arguments over a person.
func (d *Desk) settingsSaid(ctx context.Context, c *bot.Call, p class.Person) (class.Person, error) {
	a := c.Args
	var err error
	if a.Has("name") {
		if p.Name, err = namedNow(c); err != nil {
			return p, err
		}
	}
	if a.Has("zone") {
		zone, err := timetable.Zone(a.Text("zone"))
		if err != nil {
			return p, of(err, "zone")
		}
		p.Zone = zone.String()
	}
	if a.Has("quiet") {
		quiet, err := timetable.ParseQuiet(a.Text("quiet"))
		if err != nil {
			return p, of(err, "quiet")
		}
		p.Quiet = class.Quiet{From: int(quiet.From), To: int(quiet.To)}
	}
	if a.Has("units") {
		p.Units = unitsSaid(a, p.Units)
	}
	if a.Has("hand") {
		p.Hand = a.Text("hand")
	}
	if a.Has("answers") {
		p.Answers = a.Text("answers")
	}
	if a.Has("place") {
		p.Hidden = a.Text("place") == placeNames[true]
	}
	if a.Has("class") && !c.Request.Alone() {
		return p, &calc.Fault{Code: calc.Conflict, Key: keyClassAlone, Field: "class", Example: `settings class:"Tarnholm lace"`}
	}
	if a.Has("class") {
		p.Current, err = d.classNamed(ctx, p.ID, a.Text("class"))
	}
	return p, err
}

// loomInUnits says of a loom that was told before in which units to answer.
func (d *Desk) loomInUnits(ctx context.Context, a bot.Account, u measure.Units) error {
	l, err := d.Store.Loom(ctx, a)
	if err != nil || same(l, class.Loom{}) || l.Units == u {
		return err
	}
	l.Units = u
	return d.Store.KeepLoom(ctx, a, l)
}

// classNamed finds one of a person's classes by its name, a part of it, or its
// number in the list of them.
func (d *Desk) classNamed(ctx context.Context, person class.ID, text string) (class.ID, error) {
	classes, err := d.classesOf(ctx, person)
	if err != nil {
		return "", err
	}
	if len(classes) == 0 {
		return "", &calc.Fault{Code: calc.Conflict, Key: keyInNoClass, Field: "class", Example: "join"}
	}
	wanted := squeezed(text)
	var exact, part []class.ID
	for i, k := range classes {
		name := squeezed(k.Name)
		if name == wanted || strconv.Itoa(i+1) == wanted {
			exact = append(exact, k.ID)
		}
		if strings.Contains(name, wanted) {
			part = append(part, k.ID)
		}
	}
	found := exact
	if len(found) == 0 {
		found = part
	}
	if len(found) == 1 && wanted != "" {
		return found[0], nil
	}
	f := &calc.Fault{Code: calc.BadValue, Key: keyNotHerClass, Field: "class", Args: []any{cleanLine(text, maxName), numbered(classes)}, Example: "class:1"}
	if len(found) > 1 {
		f.Key = keyHerClasses
		f.Example = "class:" + strconv.Itoa(1+slices.IndexFunc(classes, func(k class.Class) bool { return k.ID == found[0] }))
	}
	return "", f
}

// asMemberOf is asMember where the argument class may say which class is meant.
func (d *Desk) asMemberOf(ctx context.Context, c *bot.Call) (class.Standing, error) {
	if !c.Args.Has("class") {
		return d.asMember(ctx, c)
	}
	s, err := d.standing(ctx, c)
	switch {
	case err != nil:
		return s, err
	case !c.Request.Alone():
		return s, &calc.Fault{Code: calc.Conflict, Key: keyClassAlone, Field: "class", Example: bot.Written("class", "Tarnholm lace")}
	}
	id, err := d.classNamed(ctx, s.Person.ID, c.Args.Text("class"))
	if err != nil {
		return s, err
	}
	if s.Class, err = d.Store.Class(ctx, id); err != nil {
		return s, err
	}
	s.Member, err = d.Store.Member(ctx, id, s.Person.ID)
	return s, err
}

// whichClass is the argument that makes a button mean the class of now, for
// someone who may mean another by the time that she presses it.
func (d *Desk) whichClass(ctx context.Context, c *bot.Call, s class.Standing) (string, error) {
	in, err := d.Store.MemberOf(ctx, s.Person.ID)
	if err != nil || len(in) < 2 || !c.Request.Alone() {
		return "", err
	}
	return " " + bot.Written("class", s.Class.Name), nil
}

// classesOf are the open classes of a person.
func (d *Desk) classesOf(ctx context.Context, person class.ID) ([]class.Class, error) {
	in, err := d.Store.MemberOf(ctx, person)
	if err != nil {
		return nil, err
	}
	var out []class.Class
	for _, m := range in {
		k, err := d.Store.Class(ctx, m.Class)
		if err != nil {
			return nil, err
		}
		out = append(out, k)
	}
	return out, nil
}

func numbered(classes []class.Class) []string {
	var out []string
	for i, k := range classes {
		out = append(out, strconv.Itoa(i+1)+" "+k.Name)
	}
	return out
}

// settingsReply shows all settings, and what holds where she has said nothing.
func (d *Desk) settingsReply(ctx context.Context, c *bot.Call, s class.Standing, changed bool) (bot.Reply, error) {
	reply := bot.Reply{Title: c.Say("settings.title")}
	if changed {
		reply.Title = c.Say("settings.changed")
	}
	p := s.Person
	loc := locationOf(s.Zone())
	now := timetable.Echo(d.Now(), loc, loc)
	at := timeDataOf(now)
	data := settingsData{Name: said(cleanLine(p.Name, maxName)), Zone: said(p.Zone), Now: &at, Units: said(unitNames[p.Units]), Hand: said(p.Hand), Answers: said(p.Answers), Place: placeNames[p.Hidden]}
	list := bot.List{
		said2(c, data.Name, "settings.name", "settings.no_name"),
		zoneLine(c, s, momentSaid(c, now.Class)),
		unitsLine(c, s),
		said2(c, data.Hand, "settings.hand", "settings.no_hand"),
	}
	if p.Hand == "left" {
		list[3] = c.Say("settings.left")
	}
	quiet := timetable.Quiet{From: timetable.Clock(p.Quiet.From), To: timetable.Clock(p.Quiet.To)}
	if p.Quiet.None() {
		list = append(list, c.Say("settings.no_quiet"))
	} else {
		text := quiet.String()
		data.Quiet = &text
		list = append(list, c.Say("settings.quiet", quiet.From.String(), quiet.To.String()))
	}
	list = append(list, answersLine(c, s), c.Say(placeKeys[p.Hidden]))
	var classes []class.Class
	if c.Request.Alone() {
		var err error
		if classes, err = d.classesOf(ctx, p.ID); err != nil {
			return reply, err
		}
	}
	if i := slices.IndexFunc(classes, func(k class.Class) bool { return k.ID == p.Current || len(classes) == 1 }); i >= 0 {
		data.Class = &classes[i].Name
	}
	if len(classes) > 1 && data.Class != nil {
		list = append(list, c.Say("settings.class", *data.Class))
	} else if len(classes) > 1 {
		list = append(list, c.Say("settings.no_class", numbered(classes)))
	}
	reply.Body = append(reply.Body, list)
	if c.Args.Text("answers") == "direct" && c.Request.Direct {
		if _, err := d.Store.ClassIn(ctx, c.Request.In); err == nil {
			reply.Body = append(reply.Body, bot.Paragraph(c.Say("settings.one_room")))
		} else if !isNone(err) {
			return reply, err
		}
	}
	reply.Body = append(reply.Body, bot.Paragraph(c.Say("settings.how")))
	for _, k := range classes[:min(len(classes), mostButtons)] {
		if len(classes) > 1 && k.ID != p.Current {
			reply.Buttons = append(reply.Buttons, bot.Button{Label: c.Say("settings.class_button", k.Name), Line: "settings " + bot.Written("class", k.Name)})
		}
	}
	reply.Data = data
	return reply, nil
}

// said2 is one sentence for what has been said and another for what has not.
func said2(c *bot.Call, value *string, key, unsaid calc.Key) string {
	if value == nil {
		return c.Say(unsaid)
	}
	return c.Say(key, *value)
}

func zoneLine(c *bot.Call, s class.Standing, now string) string {
	switch {
	case s.Person.Zone != "":
		return c.Say("settings.zone", now)
	case s.Class.Zone != "":
		return c.Say("settings.class_zone", s.Class.Name, now)
	}
	return c.Say("settings.no_zone", now)
}

func unitsLine(c *bot.Call, s class.Standing) string {
	switch {
	case s.Person.Units != measure.Unset:
		return c.Say("settings.units", unitNames[s.Person.Units])
	case s.Class.Units != measure.Unset:
		return c.Say("settings.class_units", unitNames[s.Class.Units], s.Class.Name)
	}
	return c.Say("settings.no_units")
}

func answersLine(c *bot.Call, s class.Standing) string {
	where := map[string]calc.Key{"room": "settings.in_room", "direct": "settings.in_direct"}
	switch {
	case s.Person.Answers == "direct" && s.Class.ID != "" && !s.Class.WritesDirect():
		return c.Say("settings.direct_off", s.Class.Name)
	case s.Person.Answers != "":
		return c.Say("settings.answers", where[s.Person.Answers])
	case s.Class.Answers != "" && s.Member.Person != "":
		return c.Say("settings.class_answers", where[s.Class.Answers], s.Class.Name)
	}
	return c.Say("settings.answers", where["room"])
}

// zoneWords is a zone's name as people write it.
func zoneWords(zone string) string { return strings.ReplaceAll(zone, "_", " ") }

// loomOf is what an asker has said of her loom.
func loomOf(ctx context.Context, looms class.Looms, c *bot.Call) (class.Loom, error) {
	if asker, known := c.Known.(class.Standing); known {
		return asker.Loom, nil
	}
	return looms.Loom(ctx, c.Request.From)
}

// loomByHand is that with what her hand decides: who is left-handed starts from the
// left until she says otherwise.
func loomByHand(ctx context.Context, looms class.Looms, c *bot.Call) (l class.Loom, err error) {
	asker, known := c.Known.(class.Standing)
	people, kept := looms.(class.People)
	switch {
	case known:
		l = asker.Loom
	case kept:
		asker.Person, l, err = people.Weaver(ctx, c.Request.From)
		if errors.Is(err, class.ErrNone) {
			err = nil
		}
	default:
		l, err = looms.Loom(ctx, c.Request.From)
	}
	if l.From == "" {
		l.From = asker.Person.Hand
	}
	return l, err
}
