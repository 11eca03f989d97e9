package paper

import "testing"

func TestTextWidth(t *testing.T) {
	for _, s := range []Style{Regular, Bold, Italic, Mono} {
		one, ten := TextWidth("½ in", 10, s), TextWidth("½ in", 20, s)
		if one <= 0 || ten != 2*one {
			t.Errorf("style %d: %g at 10 pt, %g at 20 pt", s, one, ten)
		}
	}
	if a, b := TextWidth("i", 10, Mono), TextWidth("W", 10, Mono); a != b {
		t.Errorf("Mono: i is %g wide, W %g", a, b)
	}
}

func TestCovered(t *testing.T) {
	for text, want := range map[string]bool{
		"Ana Brandão":           true,
		"Brandão":               true, // the accent apart from its letter
		"Żaneta Łoś, Müller ß":  true,
		"Αγγελική, Елена":       true,
		"½ ¼ ¾ ⅜ ⅛ ⅝ ⅞ ⅓ ⅔":     true,
		"← → ▲ ▼ ● ○ ① ② ↻ ″ ′": true,
		"× – — “ ” ‘ ’ … · °":   true,
		"織":                     false,
		"Ana 🧶":                 false,
		"a\u202eb":              false,
	} {
		if got := Covered(text); got != want {
			t.Errorf("Covered(%q) = %t", text, got)
		}
	}
}
