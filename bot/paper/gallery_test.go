package paper

import (
	"bytes"
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"

	"weftroom/calc/lace"
)

// note is a small sheet that says something.
func note(text string) func() (*Sheet, error) {
	return func() (*Sheet, error) {
		s := NewSheet(120, 40)
		s.Text(10, 25, 12, Regular, Start, Black, text)
		return s, nil
	}
}

func TestGalleryGivesWhatIsDrawn(t *testing.T) {
	g := NewGallery(1 << 20)
	for _, text := range []string{"raise 3", "raise 4", "raise 3", "raise 3"} {
		for _, width := range []int{240, 120} {
			sheet, _ := note(text)()
			want, err := PNG(sheet, width)
			if err != nil {
				t.Fatal(err)
			}
			got, err := g.PNG(note(text), width)
			if err != nil || !bytes.Equal(got, want) {
				t.Errorf("%s at %d pixels is another picture (%v)", text, width, err)
			}
		}
	}
	if n := len(g.pictures); n != 4 {
		t.Errorf("%d pictures are kept, not 4", n)
	}
}

// same tells that two pictures are one, drawn once.
func same(a, b []byte) bool { return &a[0] == &b[0] }

// TestGalleryDrawsOnce has many ask for the same at once, as a class does, with
// no more at work than there are processors.
func TestGalleryDrawsOnce(t *testing.T) {
	g := NewGallery(1 << 20)
	plan := rowDiagram(planOf(t, lace.Pattern{Ends: 40, Raised: 3, Passes: 3, Rows: 1}), 1)
	var now, most atomic.Int32
	sheet := func() (*Sheet, error) {
		defer now.Add(-1)
		n := now.Add(1)
		for m := most.Load(); n > m && !most.CompareAndSwap(m, n); m = most.Load() {
		}
		return plan.Sheet()
	}
	got := make([][]byte, 24)
	var all sync.WaitGroup
	for i := range got {
		all.Go(func() {
			raw, err := g.PNG(sheet, 400)
			if err != nil {
				t.Error(err)
			}
			got[i] = raw
		})
	}
	all.Wait()
	if t.Failed() {
		return
	}
	for i := range got {
		if !same(got[i], got[0]) {
			t.Errorf("picture %d was drawn anew", i)
		}
	}
	if n := int(most.Load()); n > runtime.GOMAXPROCS(0) {
		t.Errorf("%d at a time, on %d processors", n, runtime.GOMAXPROCS(0))
	}
}

// TestGalleryIsBounded draws more than is kept: the bytes that are kept stay
// within the bound, and what was asked for last stays.
func TestGalleryIsBounded(t *testing.T) {
	const most = 8 << 10
	g := NewGallery(most)
	draw := func(text string) []byte {
		raw, err := g.PNG(note(text), 240)
		if err != nil {
			t.Fatal(err)
		}
		return raw
	}
	first := draw("the first")
	for n := range 100 {
		draw(fmt.Sprint("picture ", n))
		sum := 0
		for _, e := range g.pictures {
			sum += len(e.Value.(*framed).png) + frame
		}
		if sum != g.size || sum > most || g.order.Len() != len(g.pictures) {
			t.Fatalf("after %d: %d bytes, counted as %d; %d pictures in a row of %d", n, sum, g.size, len(g.pictures), g.order.Len())
		}
		if n < 50 && !same(draw("the first"), first) {
			t.Fatalf("after %d: the first has gone, though it was asked for each time", n)
		}
	}
	if len(g.pictures) < 3 {
		t.Errorf("only %d are kept", len(g.pictures))
	}
	again := draw("the first")
	if same(again, first) || !bytes.Equal(again, first) {
		t.Error("the first was kept all the time, or is another picture now")
	}
	g = NewGallery(0)
	if a, b := draw("x"), draw("x"); same(a, b) || !bytes.Equal(a, b) {
		t.Error("a gallery for nothing keeps something")
	}
}

// TestGalleryKeepsNoFailure: what could not be drawn is tried anew, and gives its
// pen back.
func TestGalleryKeepsNoFailure(t *testing.T) {
	g := NewGallery(1 << 20)
	broken := func() (*Sheet, error) {
		s := NewSheet(10, 10)
		s.Fill(&Path{steps: []step{curveTo}}, Black) // its points are missing
		return s, nil
	}
	for range 2 * cap(pens) {
		func() {
			defer func() {
				if recover() == nil {
					t.Error("a broken path was drawn")
				}
			}()
			_, _ = g.PNG(broken, 100)
		}()
		if _, err := g.PNG(note("x"), 0); err == nil {
			t.Error("a picture of no width")
		}
	}
	if len(g.pictures) != 0 || g.size != 0 || g.order.Len() != 0 {
		t.Errorf("%d failures are kept", len(g.pictures))
	}
}
