package lesson

import (
	"archive/zip"
	"bytes"
	"cmp"
	"context"
	"fmt"
	"runtime"
	"runtime/debug"
	"slices"
	"strconv"

	"golang.org/x/sync/errgroup"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/paper"
	"weftroom/calc"
	"weftroom/calc/measure"
)

// Sentences of handouts, beside those of its answers.
const keyNoHandouts calc.Key = "handouts.none" // no arguments

// maxHandouts is how many handouts one file holds: as many as a chat takes.
const maxHandouts = 100

type handoutsData struct {
	Class    string         `json:"class"`
	Page     string         `json:"page"`
	Handouts []handoutsLine `json:"handouts"`
	Missing  []string       `json:"missing"` // whose loom does not tell enough
	Failed   []string       `json:"failed"`  // on whose loom it cannot be woven
	LeftOut  []string       `json:"left_out"`
}

type handoutsLine struct {
	Name    string `json:"name"`
	Ends    int    `json:"ends"`
	Pages   int    `json:"pages"`
	Named   bool   `json:"named"`    // the name is printed
	LeftOut bool   `json:"left_out"` // there is more in the plain text
	File    string `json:"file"`
}

func handoutsCommand(d *Desk) *bot.Command {
	handouts := &bot.Command{
		Name: "handouts", Who: bot.Teacher, Private: true,
		Params: slices.Concat(patternParams, printParams, []bot.Param{{Name: "work", Kind: bot.Choice, Choices: []string{"tonight", "none"}}}),
		Examples: []string{
			"handouts", "handouts raised:3 rows:2 page:a4 name:no",
			"handouts raised:4 passes:5 way:two repeat:halfdrop rows:2 long:72in page:letter",
		},
	}
	handouts.Run = func(ctx context.Context, c *bot.Call) (bot.Reply, error) {
		s, err := d.inClass(ctx, c)
		if err != nil {
			return bot.Reply{}, err
		}
		g, err := d.group(ctx, c, s.Class)
		if err != nil {
			return bot.Reply{}, err
		}
		e, err := d.tonight(ctx, c)
		if err != nil {
			return bot.Reply{}, err
		}
		set := handoutSet{c: c, class: s.Class, page: pageOf(c), work: workHead(c, e, c.Args)}
		if e.none() {
			set.design, err = d.designAsked(ctx, c)
		} else {
			set.design, _, err = d.mergedDesign(ctx, c, handouts, e)
		}
		if err != nil {
			return bot.Reply{}, err
		}
		made, err := set.make(ctx, g)
		if err != nil {
			return bot.Reply{}, err
		}
		return set.reply(made)
	}
	return handouts
}

// handoutSet is a class's handouts in the making.
type handoutSet struct {
	c      *bot.Call
	class  class.Class
	page   string
	work   []bot.Block // of which session they are
	design *wish       // that they are of; nil for none
}

// handoutMade is what one student gets, or why she gets nothing.
type handoutMade struct {
	name    string // hers, for the teacher
	ends    int
	named   bool // her name is printed
	files   []bot.File
	printed paper.Printed
	fault   *calc.Fault // it cannot be woven on her loom
}

// make makes a handout for each student, as many at once as there are
// processors: one in the making takes memory, one that is made takes little.
func (h *handoutSet) make(ctx context.Context, g []fellow) ([]handoutMade, error) {
	g = slices.DeleteFunc(slices.Clone(g), func(f fellow) bool { return f.member.Role != bot.Student })
	made := make([]handoutMade, len(g))
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, f := range g {
		made[i].name = f.name
		if i >= maxHandouts {
			continue
		}
		group.Go(func() (err error) {
			defer func() { // the dispatcher sees only what panics on its own goroutine
				if p := recover(); p != nil {
					err = fmt.Errorf("panic in a handout: %v\n%s", p, debug.Stack())
				}
			}()
			if err := ctx.Err(); err != nil {
				return err
			}
			made[i], err = h.one(f, i+1)
			return err
		})
	}
	return made, group.Wait()
}

// one makes the handout of one student, in her own units. Whose loom does not
// tell enough gets no files.
func (h *handoutSet) one(f fellow, number int) (handoutMade, error) {
	m := handoutMade{name: f.name}
	loom := f.loom
	loom.From = cmp.Or(loom.From, f.person.Hand)
	if loom.Ends == 0 && loom.Width == 0 {
		return m, nil
	}
	w, err := measured(loom)
	if _, hers := asFault(err); hers {
		return m, nil // she is asked about it when she asks
	}
	c := *h.c
	c.Units = cmp.Or(f.person.Units, f.loom.Units, h.class.Units, measure.Imperial)
	m.ends = w.ends
	t, err := rowAsked(&c, w, h.design)
	if fault, hers := asFault(err); hers {
		m.fault = fault
		return m, nil
	}
	if err != nil {
		return m, err
	}
	l := leaflet{c: &c, row: t, head: h.work, class: h.class, name: printedName(&c, h.class, f.person), long: c.Args.Length("long")}
	m.named = l.name != "" && paper.Covered(l.name)
	m.files, m.printed, err = l.files(h.page, leafletName(number, f.name))
	return m, err
}

// reply is the file of all handouts, and who has none.
func (h *handoutSet) reply(made []handoutMade) (bot.Reply, error) {
	c := h.c
	data := handoutsData{Class: h.class.Name, Page: h.page, Handouts: []handoutsLine{}, Missing: []string{}, Failed: []string{}, LeftOut: []string{}}
	t := bot.Table{
		Head:    []string{c.Say("roster.name"), c.Say("kit.ends"), c.Say("handouts.pages")},
		Numbers: []bool{false, true, true},
	}
	var notes bot.List
	var nameless []string
	for i, m := range made {
		switch {
		case i >= maxHandouts:
			data.LeftOut = append(data.LeftOut, m.name)
		case m.fault != nil:
			data.Failed = append(data.Failed, m.name)
			notes = append(notes, c.Say("handouts.fails", m.name, m.fault))
		case m.files == nil:
			data.Missing = append(data.Missing, m.name)
		default:
			data.Handouts = append(data.Handouts, handoutsLine{m.name, m.ends, m.printed.Pages, m.named, m.printed.LeftOut, m.files[0].Name})
			t.Rows = append(t.Rows, []string{m.name, strconv.Itoa(m.ends), strconv.Itoa(m.printed.Pages)})
			if !m.named && c.Args.Text("name") != "no" {
				nameless = append(nameless, m.name)
			}
		}
	}
	if len(t.Rows) == 0 {
		return bot.Reply{}, whyNone(made)
	}
	notes = append(notes, namesSaid(c, "handouts.missing", data.Missing)...)
	notes = append(notes, namesSaid(c, "handouts.lines", nameless)...)
	notes = append(notes, namesSaid(c, "handouts.too_many", data.LeftOut)...)
	packed, err := pack(made)
	if err != nil {
		return bot.Reply{}, err
	}
	r := bot.Reply{
		Title: c.Texts.Count(c.Units, "handouts.title", len(t.Rows), h.class.Name), Data: data,
		Body: append(slices.Clone(h.work), t),
		Files: []bot.File{{
			Name: fileName(h.class.Name, "class") + "-" + c.Say("handouts.file") + ".zip", MediaType: zipType,
			Alt: c.Texts.Count(c.Units, "handouts.alt", len(t.Rows)), Bytes: packed,
		}},
	}
	if len(h.work) == 0 && rowSaid(c.Args) == "" {
		notes = append(notes, c.Say("handouts.no_work"))
	}
	if len(notes) > 0 {
		r.Body = append(r.Body, notes)
	}
	return r, nil
}

// whyNone says why there is no handout at all: it cannot be woven on any loom, or
// no loom tells enough.
func whyNone(made []handoutMade) *calc.Fault {
	for _, m := range made {
		if m.fault != nil {
			return m.fault
		}
	}
	return &calc.Fault{Code: calc.Conflict, Key: keyNoHandouts, Example: "handout"}
}

// namesSaid is a sentence about some people, or nothing about nobody.
func namesSaid(c *bot.Call, key calc.Key, names []string) bot.List {
	if len(names) == 0 {
		return nil
	}
	return bot.List{c.Say(key, names)}
}

// zipType is the media type of many files in one.
const zipType = "application/zip"

// pack puts all files into one. It carries no times, so that the same handouts
// are the same file.
func pack(made []handoutMade) ([]byte, error) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, m := range made {
		for _, f := range m.files {
			w, err := z.Create(f.Name)
			if err != nil {
				return nil, err
			}
			if _, err := w.Write(f.Bytes); err != nil {
				return nil, err
			}
		}
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}
