package paper

import (
	"bytes"
	"math"
	"strings"
	"sync"
	"testing"
)

func TestPDFIsTheSameEveryTime(t *testing.T) {
	about := About{Title: "A proof", Language: "en"}
	first, err := PDF([]*Sheet{everything()}, about)
	if err != nil {
		t.Fatal(err)
	}
	for range 3 {
		again, err := PDF([]*Sheet{everything()}, about)
		if err != nil || !bytes.Equal(first, again) {
			t.Fatalf("other bytes: %v", err)
		}
	}
	if bytes.Contains(first, []byte("Date")) {
		t.Error("it carries a date")
	}
	if !bytes.Contains(first, []byte("/Lang (en)")) {
		t.Error("it does not say its language")
	}
}

// Fonts are shared by all that print at the same time.
func TestPDFLeavesTheFontsAlone(t *testing.T) {
	var before [len(fontBytes)][]byte
	for i, b := range fontBytes {
		before[i] = bytes.Clone(b)
	}
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() {
			if _, err := PDF([]*Sheet{everything()}, About{Title: "t", Language: "en"}); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	for i, b := range fontBytes {
		if !bytes.Equal(before[i], b) {
			t.Errorf("the bytes of font %s are others than before", fontNames[i])
		}
	}
}

// One letter must not bring a whole font with it: the regular font has 148,672
// bytes and 712 letters.
func TestPDFHasTheLettersItUses(t *testing.T) {
	size := func(text string) int {
		s := NewSheet(100, 100)
		s.Text(10, 50, 10, Regular, Start, Black, text)
		pdf, err := PDF([]*Sheet{s}, About{Title: "t", Language: "en"})
		if err != nil {
			t.Fatal(err)
		}
		return len(pdf)
	}
	few := size("a")
	if few > 25_000 {
		t.Errorf("one letter makes a file of %d bytes", few)
	}
	var many strings.Builder
	for r := 'À'; r < 'À'+150; r++ {
		many.WriteRune(r)
	}
	if more := size(many.String()); more <= few {
		t.Errorf("150 further letters make it no larger: %d and %d bytes", few, more)
	}
}

func TestPDFBounds(t *testing.T) {
	for name, pages := range map[string][]*Sheet{
		"no pages":       nil,
		"too many pages": make([]*Sheet, MaxPages+1),
		"no width":       {NewSheet(0, 100)},
		"not a number":   {NewSheet(math.NaN(), 100)},
		"too high":       {NewSheet(100, maxPageSide+1)},
	} {
		if _, err := PDF(pages, About{Title: "t", Language: "en"}); err == nil {
			t.Errorf("%s: printed", name)
		}
	}
}

func TestPDFOfPlacesThatCannotBe(t *testing.T) {
	s := NewSheet(100, 100)
	s.Line(math.NaN(), 5, 50, math.Inf(1), Pen{Ink: Black, Width: 2})
	s.Line(-1e30, 50, 1e30, 50, Pen{Ink: Black, Width: 2, Dash: []float64{1, 2}})
	s.Text(math.Inf(-1), 20, 10, Regular, Start, Black, "far away")
	s.Text(10, 20, math.NaN(), Regular, Start, Black, "no size")
	pdf, err := PDF([]*Sheet{s}, About{Title: "t", Language: "en"})
	if err != nil {
		t.Fatal(err)
	}
	checkPDF(t, pdf)
}

// A sign that comes again adds to a page hardly more than letters do: a long plan has
// thousands.
func TestPDFHasASignOnce(t *testing.T) {
	size := func(text string) int {
		s := NewSheet(600, 800)
		for i := range 2000 {
			s.Text(10+float64(i%40)*14.3, 20+float64(i/40)*15.1, 9, Regular, Start, Black, text)
		}
		pdf, err := PDF([]*Sheet{s}, About{Title: "t", Language: "en"})
		if err != nil {
			t.Fatal(err)
		}
		checkPDF(t, pdf)
		return len(pdf)
	}
	letters := size("a")
	for _, sign := range []string{"①", "⅔", "↻"} {
		signs := size(sign)
		t.Logf("%s: %d bytes, of a letter %d", sign, signs, letters)
		if signs > letters+2000*20 {
			t.Errorf("2,000 %s make a file of %d bytes, 2,000 letters one of %d", sign, signs, letters)
		}
	}
}
