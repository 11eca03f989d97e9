//go:build unix

package chats_test

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"strings"
	"testing"

	"weftroom/adapters/discord/discordtest"
)

// TestDesignsOnDiscord: a student has a design laid out from a chart that she
// writes into a form, and from a picture that she sends along.
func TestDesignsOnDiscord(t *testing.T) {
	c := openCourse(t)
	if said := c.run(c.student, "loom", discordtest.Values{"width": "15in", "heddle": "10", "from": "right", "rightmost": "hole"}); !strings.Contains(said, "150") {
		t.Fatalf("no loom: %s", said)
	}
	i, err := c.student.Slash(c.room, "motif", discordtest.Values{"cell": 3})
	if err != nil {
		t.Fatal(err)
	}
	form, err := i.Modal(c.ctx)
	if err != nil {
		t.Fatalf("/motif without anything to make it from opens no form: %v", err)
	}
	if i, err = c.student.Submit(form, discordtest.Values{"chart": "..o..\n.o.o.\n..o.."}); err != nil {
		t.Fatal(err)
	}
	m, err := i.Message(c.ctx)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"in holes on 150 ends", "5 × 3", "as you asked"} { // all rows have arrived, and the cell beside them
		if !strings.Contains(m.Text(), want) {
			t.Errorf("the plan of a chart does not say %q:\n%s", want, m.Text())
		}
	}
	said := c.run(c.student, "motif", discordtest.Values{"picture": discordtest.File{Name: "leaf.png", MediaType: "image/png", Bytes: disc(t)}})
	if !strings.Contains(said, "in holes on 150 ends") {
		t.Errorf("a picture is answered: %s", said)
	}
	said = c.run(c.student, "motif", discordtest.Values{"picture": discordtest.File{Name: "leaf.png", MediaType: "image/png", Bytes: []byte("no picture")}})
	if !strings.Contains(said, "for example") || strings.Contains(said, "reference") {
		t.Errorf("what is no picture is answered: %s", said)
	}
	for _, r := range c.server.Refused() {
		t.Errorf("the server refused: %s", r)
	}
}

// disc is a picture of a dark disc on a light ground.
func disc(t *testing.T) []byte {
	t.Helper()
	const size = 64
	m := image.NewGray(image.Rect(0, 0, size, size))
	for y := range size {
		for x := range size {
			if dx, dy := x-size/2, y-size/2; dx*dx+dy*dy > size*size/8 {
				m.SetGray(x, y, color.Gray{Y: 255})
			}
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
