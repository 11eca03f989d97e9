package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"weftroom/bot/lesson/lessontest"
	"weftroom/calc/lace"
)

// A class makes designs of holes in a real chat. What is woven is the text that
// reached each, and its holes must be those of the chart that the same answer
// showed her: of the chart that she drew herself, or of what ask makes of the same
// picture.

// artist is an actor who can send more than a line, each chat in its own way. All
// of it goes into the room.
type artist interface {
	actor
	// draws asks for a design from a chart.
	draws(t *testing.T, chart string)
	// sends asks for a design, with more arguments, from a file.
	sends(t *testing.T, args, name string, raw []byte)
}

// drawn is a chart of five places, the first woven row first.
const drawn = `
o....
.o..o
..oo.
.o..o
..o..
`

// leafRows is the chart of the teacher's leaf, as it is typed in one line.
const leafRows = "..o../.o.o./o...o/.o.o./..o.."

// playDesigns has two students with different looms make a design each, in the
// room, and their teacher share one of hers as the work of the next session, which
// both are given on their own looms and one goes through move by move. The process
// is killed on the way. wrong is what else is refused there, before anything is
// kept.
func playDesigns(t *testing.T, v venue, wrong func(g guest, their artist)) (odd, even guest) {
	b := newBuilding(t, v)
	maren := guest{actor: v.person(t, "Maren", true), name: "Maren"}
	maren.tell(t, false, `class open name:"Lace of Tarnholm" zone:Berlin`, "Lace of Tarnholm")
	odd = guest{name: "Teodor", rightmost: "hole", pattern: lace.Pattern{Ends: 33}, loom: "loom ends:33 heddle:10 rightmost:hole from:right units:inches"}
	even = guest{name: "Paloma", rightmost: "slot", pattern: lace.Pattern{Ends: 40, From: lace.Left}, loom: "loom ends:40 heddle:40/10cm rightmost:slot from:left units:centimetres"}
	for _, g := range []*guest{&odd, &even} {
		g.actor = v.person(t, g.name, true)
		g.tell(t, false, "join", "Lace of Tarnholm")
		g.tell(t, true, g.loom, fmt.Sprint(g.pattern.Ends, " ends"))
	}
	hers, theirs := odd.actor.(artist), even.actor.(artist)

	hers.draws(t, "..o..\n.o.\n..o..")
	odd.refused(t, false, "a ragged chart", "chart: all rows must be equally long, and row 2 is not: places 3, in the first 5")
	theirs.sends(t, "", "notes.png", []byte("warp the loom on Sunday"))
	even.refused(t, false, "a file that is no picture", "That is no picture that I can open; I open PNG, JPEG, GIF and WebP")
	wrong(even, theirs)
	for _, g := range []guest{odd, even} {
		g.tell(t, true, "designs", "You keep no designs yet")
	}

	hers.draws(t, drawn)
	shown := odd.hearsDesign(t, false, "Your chart in holes on 33 ends")
	if want := placesOf(strings.Fields(drawn)); !slices.EqualFunc(shown.Rows, want, slices.Equal) || shown.Places != 5 {
		t.Errorf("%s drew %v and is shown %v", odd.name, want, shown.Rows)
	}
	picture := inPicture(t, 60, 60, lyingLeaf)
	theirs.sends(t, "passes:5", "leaf.png", picture)
	shown = even.hearsDesign(t, false, "Your picture in holes on 40 ends")
	if want := askedFor(t, picture, "motif passes:5 ends:40 heddle:40/10cm rightmost:slot from:left"); !slices.EqualFunc(shown.Rows, want, slices.Equal) {
		t.Errorf("%s is shown %v, and ask says %v", even.name, shown.Rows, want)
	}
	if share := likeness(shown, lyingLeaf); share < 0.9 {
		t.Errorf("the chart is like the picture in %.0f %% of its places", 100*share)
	}

	week := time.Now().AddDate(0, 0, 7).Format("2006-01-02")
	maren.tell(t, false, fmt.Sprintf(`session add "%s 19:00" topic:"Our leaf"`, week), "Our leaf")
	maren.tell(t, true, fmt.Sprintf("motif chart:%q ends:48 rightmost:hole", leafRows), "Your chart in holes on 48 ends", "proven: all")
	maren.tell(t, true, "designs keep:leaf", "Kept as “leaf”")
	maren.tell(t, true, "designs share:leaf session:next", "“leaf” is shared with the class", "Work: the design “leaf”")
	var plan []lace.Row
	var each sync.WaitGroup
	for _, g := range []guest{odd, even} {
		each.Go(func() {
			g.say(t, true, "row")
			shown, rows := g.hearsPlan(t, true, fmt.Sprintf("“leaf” in holes on %d ends", g.pattern.Ends))
			if want := placesOf(strings.Split(leafRows, "/")); !slices.EqualFunc(shown.Rows, want, slices.Equal) {
				t.Errorf("%s is given %v of the leaf %v", g.name, shown.Rows, want)
			}
			if g.name == odd.name {
				plan = rows
			}
		})
	}
	each.Wait()
	if t.Failed() {
		t.FailNow()
	}
	odd.goesThrough(t, b, v, plan)
	even.tell(t, true, "designs", "leaf", "Maren", "last (no name yet)", "a picture")
	return odd, even
}

// refused waits for the one sentence that refuses what she did.
func (g guest) refused(t *testing.T, alone bool, why, want string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), patient)
	defer cancel()
	for heard := ""; ; {
		_, text, err := g.hear(ctx, alone)
		if err != nil {
			t.Fatalf("%s, after %s: %v; what has come:\n%s", g.name, why, err, heard)
		}
		if strings.Contains(unmarked(text), unmarked(want)) {
			if line := strings.TrimSpace(text); strings.Contains(line, "\n") || !strings.HasSuffix(line, ".") {
				t.Errorf("%s, after %s, is told no single sentence:\n%s", g.name, why, text)
			}
			return
		}
		heard += text + "\n"
	}
}

// hearsDesign waits for the answer to a design that was asked for, and gives its
// chart.
func (g guest) hearsDesign(t *testing.T, alone bool, title string) lessontest.Chart {
	t.Helper()
	shown, _ := g.hearsPlan(t, alone, title)
	return shown
}

// hearsPlan waits for a plan and the chart that comes with it. What she then weaves
// has its holes where the chart has them.
func (g guest) hearsPlan(t *testing.T, alone bool, title string) (shown lessontest.Chart, rows []lace.Row) {
	t.Helper()
	var plan string
	g.collect(t, alone, title, func(text string) error {
		at := strings.LastIndex(text, title)
		if at < 0 {
			return fmt.Errorf("%q has not come", title)
		}
		if plan = text[at:]; !strings.Contains(unmarked(plan), "proven: all") {
			return errors.New("the end of the plan has not come")
		}
		var err error
		rows, err = lessontest.ReadWords(plan, g.rightmost)
		return err
	})
	g.isShown(t, alone, "the chart", "the finished lace")
	shown, want := g.chartOf(t, alone, plan)
	woven, err := lessontest.Holes(g.pattern.Ends, g.pattern.From, rows)
	if err != nil {
		t.Fatalf("%s cannot weave her plan: %v", g.name, err)
	}
	if !slices.EqualFunc(woven, want, slices.Equal) {
		t.Fatalf("%s weaves holes at\n%v, and the chart has them at\n%v", g.name, woven, want)
	}
	return shown, rows
}

// chartOf waits for the chart that belongs to an answer: its newest one that is as
// wide as her warp with the margins that the answer tells. It gives the chart, and
// where its holes are on her warp.
func (g guest) chartOf(t *testing.T, alone bool, plan string) (shown lessontest.Chart, holes [][]int) {
	t.Helper()
	g.looks(t, alone, func(got []shownPicture) error {
		err := errors.New("she is shown no chart")
		for _, p := range slices.Backward(got) {
			if !strings.Contains(p.alt, "the chart") {
				continue
			}
			if shown, err = lessontest.ReadChart(plan, p.alt); err == nil {
				holes, err = shown.On(g.pattern.Ends)
			}
			if err == nil {
				return nil
			}
		}
		return err
	})
	return shown, holes
}

// goesThrough has her go through the first moves of a plan that she has read. The
// process is killed in the middle of a row; where the chat keeps it she asks for a
// move meanwhile.
func (g guest) goesThrough(t *testing.T, b *building, v venue, plan []lace.Row) {
	t.Helper()
	see := func(text string, row, move int) {
		t.Helper()
		m, err := lessontest.ReadMove(text, g.rightmost, g.pattern.From)
		if err != nil {
			t.Fatalf("%s: %v", g.name, err)
		}
		if want := plan[row-1]; m.Row != row || m.Step != move || m.Moves != len(want.Moves) || m.Move != want.Moves[move-1] {
			t.Fatalf("%s is shown %+v at row %d, move %d of %+v", g.name, m, row, move, want)
		}
	}
	place := func(row, move int) string {
		return fmt.Sprintf("Row %d of %d, move %d of %d", row, len(plan), move, len(plan[row-1].Moves))
	}
	see(g.tell(t, true, "start", place(1, 1)), 1, 1)
	for move := 2; move <= 4; move++ {
		see(g.tell(t, true, "next", place(1, move)), 1, move)
	}
	b.kill()
	if v.keeps() {
		g.say(t, true, "next")
	}
	b.start()
	if !v.keeps() {
		v.present(t, 2)
		g.say(t, true, "next")
	}
	see(g.wait(t, true, "next", place(1, 5)), 1, 5)
	for move := 6; move <= len(plan[0].Moves); move++ {
		see(g.tell(t, true, "next", place(1, move)), 1, move)
	}
	see(g.tell(t, true, "next", place(2, 1)), 2, 1)
}

// placesOf are the places with a hole of each row of a chart, from 1 at the left.
func placesOf(chart []string) [][]int {
	rows := make([][]int, len(chart))
	for i, row := range chart {
		for n, sign := range row {
			if sign == 'o' {
				rows[i] = append(rows[i], n+1)
			}
		}
	}
	return rows
}

// askedFor is the chart that ask makes of a picture.
func askedFor(t *testing.T, picture []byte, line string) [][]int {
	t.Helper()
	name := filepath.Join(t.TempDir(), "leaf.png")
	if err := os.WriteFile(name, picture, 0o600); err != nil {
		t.Fatal(err)
	}
	var out, complaint bytes.Buffer
	if code := run([]string{"ask", "--json", "--attach", name, line}, streams{strings.NewReader(""), &out, &complaint}); code != 0 {
		t.Fatalf("ask ends with %d: %s", code, &complaint)
	}
	var told struct{ Data struct{ Chart []string } }
	if err := json.Unmarshal(out.Bytes(), &told); err != nil {
		t.Fatal(err)
	}
	return placesOf(told.Data.Chart)
}

// lyingLeaf is dark where the leaf is, in no way the same in a mirror: x and y go
// from 0 at the left and at the top to 1.
func lyingLeaf(x, y float64) bool {
	return x > 0.08 && y > 0.15 && y < 0.55+0.4*x && (x-0.35)*(x-0.35)+(y-0.6)*(y-0.6) < 0.2
}

// inPicture is a picture of what is dark.
func inPicture(t *testing.T, wide, high int, dark func(x, y float64) bool) []byte {
	t.Helper()
	m := image.NewGray(image.Rect(0, 0, wide, high))
	for y := range high {
		for x := range wide {
			m.SetGray(x, y, color.Gray{Y: 235})
			if dark((float64(x)+0.5)/float64(wide), (float64(y)+0.5)/float64(high)) {
				m.SetGray(x, y, color.Gray{Y: 30})
			}
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// likeness is the share of a chart's places that have a hole where the picture is
// dark in their middle, and none where it is light.
func likeness(c lessontest.Chart, dark func(x, y float64) bool) float64 {
	like := 0
	for i, row := range c.Rows {
		for place := 1; place <= c.Places; place++ {
			x, y := (float64(place)-0.5)/float64(c.Places), 1-(float64(i)+0.5)/float64(len(c.Rows))
			if dark(x, y) == slices.Contains(row, place) {
				like++
			}
		}
	}
	return float64(like) / float64(len(c.Rows)*c.Places)
}
