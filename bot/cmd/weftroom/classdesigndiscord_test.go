package main

import (
	"context"
	"strings"
	"testing"

	"weftroom/adapters/discord/discordtest"
)

// TestDesignsOnDiscord: a chart is written into a form and a picture is chosen in
// the field for it. What each is answered she sees alone, until she shows it.
func TestDesignsOnDiscord(t *testing.T) {
	t.Parallel()
	v := newDiscordVenue(t)
	odd, even := playDesigns(t, v, func(g guest, their artist) {
		elsewhere := strings.TrimPrefix(v.server.URL, "http://") // which would give it
		their.(*discordPerson).slash(t, "motif", discordtest.Values{"picture": discordtest.File{
			Name: "leaf.png", MediaType: "image/png", Bytes: inPicture(t, 60, 60, lyingLeaf), Host: elsewhere,
		}})
		g.refused(t, false, "a file that is elsewhere", "I could not load leaf.png")
	})
	for _, m := range v.room.All() {
		if strings.Contains(m.Text(), "in holes on") {
			t.Errorf("everyone sees %s", m.Text())
		}
	}
	odd.press(t, false, "Show everyone")
	even.wait(t, false, "what Teodor shows", "Your chart in holes on 33 ends", "proven: all")
	even.isShown(t, false, "the chart, 5 rows of 5 places, with 8 holes")
	for _, refused := range v.server.Refused() {
		t.Errorf("the server refused: %s", refused)
	}
}

func (p *discordPerson) slash(t *testing.T, name string, values discordtest.Values) *discordtest.Interaction {
	t.Helper()
	p.venue.registered(t)
	i, err := p.user.Slash(p.venue.room, name, values)
	if err != nil {
		t.Fatalf("%s, /%s: %v", p.user.Name, name, err)
	}
	return i
}

// draws writes a chart into the form that opens when nothing else is given.
func (p *discordPerson) draws(t *testing.T, chart string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), patient)
	defer cancel()
	form, err := p.slash(t, "motif", nil).Modal(ctx)
	if err != nil {
		t.Fatalf("%s is shown no form: %v", p.user.Name, err)
	}
	if len(form.Inputs) != 1 || !form.Inputs[0].Long {
		t.Fatalf("the form has no field of several lines: %+v", form.Inputs)
	}
	if _, err := p.user.Submit(form, discordtest.Values{form.Inputs[0].CustomID: chart}); err != nil {
		t.Fatalf("%s cannot send the form: %v", p.user.Name, err)
	}
}

// sends chooses a file in the command's own field.
func (p *discordPerson) sends(t *testing.T, args, name string, raw []byte) {
	t.Helper()
	_, values := p.command("motif " + args)
	values["picture"] = discordtest.File{Name: name, MediaType: "image/png", Bytes: raw}
	p.slash(t, "motif", values)
}
