package warp

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"weftroom/calc"
	"weftroom/calc/measure"
)

func TestEnds(t *testing.T) {
	for _, row := range []struct {
		name          string
		width         measure.Length
		sett          measure.Sett
		want          int
		source, known string
	}{
		{"22 in at 24", 22 * inch, 24 * perInch, 528, "worked example, 528 ends × 4 yd", seen},
		{"38 in at 60", 38 * inch, 60 * perInch, 2280, "Brooks, Cotton Manufacturing, Weight of a piece", seen},
		{"30 in at 70", 30 * inch, 70 * perInch, 2100, "Taylor, Cotton Weaving and Designing, 6th ed.", seen},
		{"15 in in a heddle of 10", 15 * inch, 10 * perInch, 150, "product", derived},
		{"15 in in a heddle of 40/10 cm, which is 10.16", 15 * inch, 40 * per10cm, 152, "product", derived},
		{"a half goes up", 7.5 * inch, 7 * perInch, 53, "product", derived},
		{"a half in centimetres goes up", 10.125 * measure.Centimetre, 40 * per10cm, 41, "product", derived},
		{"a half that metres make a hair less goes up", 1.5 * inch, 11 * perInch, 17, "product", derived},
		{"just below a half goes down", 7.49 * inch, 7 * perInch, 52, "product", derived},
		{"nothing", 0, 10 * perInch, 0, "product", derived},
		{"negative", -inch, 10 * perInch, 0, "product", derived},
		{"not a number", measure.Length(math.NaN()), 10 * perInch, 0, "bound", derived},
		{"endless", measure.Length(math.Inf(1)), 10 * perInch, 0, "bound", derived},
		{"more than can be counted", 1e300, 1e3, math.MaxInt32, "bound", derived},
	} {
		t.Run(row.name, func(t *testing.T) {
			if got := Ends(row.width, row.sett); got != row.want {
				t.Errorf("got %d, want %d (%s, %s)", got, row.want, row.source, row.known)
			}
		})
	}
}

func TestWidthIsExact(t *testing.T) {
	for _, row := range []struct {
		name string
		ends int
		sett measure.Sett
		want measure.Length
	}{
		{"100 ends at 40/10 cm are 25 cm", 100, 40 * per10cm, 25 * measure.Centimetre},
		{"10.16 ends per inch is that heddle", 1016, 40 * per10cm, 100 * inch},
		{"100 ends at 10 per inch are 10 in", 100, 10 * perInch, 10 * inch},
		{"97 ends at 12.5", 97, 12.5 * perInch, 7.76 * inch},
		{"no sett, no width", 97, 0, 0},
		{"no ends, no width", 0, 10 * perInch, 0},
	} {
		t.Run(row.name, func(t *testing.T) {
			near(t, "width", float64(Width(row.ends, row.sett)), float64(row.want), 1e-15)
		})
	}
}

func TestAgree(t *testing.T) {
	for _, row := range []struct {
		name  string
		ends  int
		width measure.Length
		sett  measure.Sett
		agree bool
	}{
		{"exactly", 96, 9.6 * inch, 10 * perInch, true},
		{"two and a half ends off at 10 are a quarter inch", 97, 9.45 * inch, 10 * perInch, true},
		{"three off at 10 are more", 97, 9.4 * inch, 10 * perInch, false},
		{"six off at 24 are a quarter inch", 534, 22 * inch, 24 * perInch, true},
		{"seven off at 24 are more", 535, 22 * inch, 24 * perInch, false},
		{"one off at 3 is always allowed", 31, 10 * inch, 3 * perInch, true},
		{"two off at 3 are not", 32, 10 * inch, 3 * perInch, false},
		{"40/10 cm taken for 10 per inch over 40 in", 400, 40 * inch, 40 * per10cm, false},
		{"not a width", 97, measure.Length(math.NaN()), 10 * perInch, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			err := Agree(row.ends, row.width, row.sett)
			if row.agree {
				if err != nil {
					t.Error(err)
				}
				return
			}
			f := wantFault(t, err, calc.Conflict, KeyEndsDisagree, "ends")
			if f.Args[0] != row.ends || f.Args[1] != Ends(row.width, row.sett) {
				t.Errorf("the fault carries %v, want both numbers", f.Args)
			}
		})
	}
}

func TestEndsOfWidthOfEnds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, maxEnds).Draw(t, "ends")
		sett := measure.Sett(rapid.Float64Range(float64(minSett), float64(maxSett)).Draw(t, "sett"))
		w := Width(n, sett)
		if got := Ends(w, sett); got != n {
			t.Errorf("%d ends take %v, which holds %d", n, w, got)
		}
		if err := Agree(n, w, sett); err != nil {
			t.Error(err)
		}
		far := max(2, int(float64(sett)*float64(inch4))+2)
		if err := Agree(n+far, w, sett); err == nil {
			t.Errorf("%d ends pass for %d", n+far, n)
		}
	})
}
