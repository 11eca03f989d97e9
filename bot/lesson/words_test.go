package lesson

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"
)

func TestGlossaryIsLargeEnough(t *testing.T) {
	if len(glossary) < 60 {
		t.Errorf("%d words, want at least 60", len(glossary))
	}
}

func TestGlossaryIsSortedByName(t *testing.T) {
	for i := 1; i < len(glossary); i++ {
		a, b := glossary[i-1].Name, glossary[i].Name
		if strings.ToLower(a) >= strings.ToLower(b) {
			t.Errorf("%q stands before %q", a, b)
		}
	}
}

// TestGlossaryHoldsTheTrade lists the words that a student of lace meets
// first: dropping one would leave her without an answer.
func TestGlossaryHoldsTheTrade(t *testing.T) {
	for _, name := range []string{
		"apron rod", "balanced weave", "beater", "blocking", "bobbin", "bouquet", "brake", "breast beam", "bubble",
		"butterfly", "cloth beam", "cotton count", "crimp", "cross", "cross sticks", "dent", "draw-in", "end",
		"ends per inch", "eyelet", "fell", "float", "floating selvedge", "fringe", "fulling", "group", "half-drop",
		"header", "heddle", "heddle block", "hem", "hemstitching", "hole", "leno", "linen lea", "long slit",
		"loom waste", "medallion", "metric count", "one-way", "pass", "pawl", "pick", "pick-up stick",
		"picks per inch", "plain weave", "ply", "press", "raddle", "raised end", "reed", "rigid heddle", "sample",
		"selvedge", "sett", "shaft", "shed", "shrinkage", "skein", "sley", "slot", "Spanish lace", "stick shuttle",
		"strand", "swift", "take-up", "temple", "tension", "tex", "threading", "tie-on", "turn", "two-way", "unpick",
		"warp", "warp beam", "warp-faced", "warping board", "warping peg", "weft", "weft-faced", "wet finishing",
		"worsted count", "wraps per inch", "yarn count",
	} {
		if w, found, _ := lookUp(name); !found || w.Name != name {
			t.Errorf("%q answers %q, found %v", name, w.Name, found)
		}
	}
}

func TestGlossarySentences(t *testing.T) {
	for _, w := range glossary {
		if n := utf8.RuneCountInString(w.Says); n >= 300 {
			t.Errorf("%s: %d characters, want fewer than 300", w.Name, n)
		}
		if n := sentences(w.Says); n < 1 || n > 2 {
			t.Errorf("%s: %d sentences, want one or two: %s", w.Name, n, w.Says)
		}
		if first, _ := utf8.DecodeRuneInString(w.Says); !unicode.IsUpper(first) {
			t.Errorf("%s: starts without a capital: %s", w.Name, w.Says)
		}
		if !strings.HasSuffix(w.Says, ".") || strings.HasSuffix(w.Says, "..") {
			t.Errorf("%s: does not end with one full stop: %s", w.Name, w.Says)
		}
		if strings.Contains(w.Says, "  ") || strings.TrimSpace(w.Says) != w.Says {
			t.Errorf("%s: stray spaces: %q", w.Name, w.Says)
		}
	}
}

// sentences counts the marks that end a sentence: those before a space or at
// the end, so that a decimal point is none.
func sentences(s string) int {
	n := 0
	for _, field := range strings.Fields(s) {
		if strings.ContainsAny(field[len(field)-1:], ".!?") {
			n++
		}
	}
	return n
}

func TestSentencesAreCounted(t *testing.T) {
	rows := []struct {
		shows, text string
		want        int
	}{
		{"none in a fragment", "All the threads", 0},
		{"one", "It is a frame.", 1},
		{"a decimal point ends nothing", "One inch is 2.5 cm long.", 1},
		{"a question and an answer", "Is it straight? Then go on.", 2},
		{"three", "One. Two. Three.", 3},
	}
	for _, row := range rows {
		if got := sentences(row.text); got != row.want {
			t.Errorf("%s: %d, want %d", row.shows, got, row.want)
		}
	}
}

func TestGlossaryNamesAreUnique(t *testing.T) {
	owner := map[string]string{}
	for _, w := range glossary {
		for _, name := range w.names() {
			key := wordKey(name)
			if key == "" || len(name) > longestAsked {
				t.Errorf("%s: %q cannot be asked for", w.Name, name)
			}
			if other, taken := owner[key]; taken {
				t.Errorf("%q of %q is already a name of %q", name, w.Name, other)
			}
			owner[key] = w.Name
		}
	}
}

func TestGlossarySeeResolves(t *testing.T) {
	exact := map[string]bool{}
	for _, w := range glossary {
		exact[w.Name] = true
	}
	for _, w := range glossary {
		if len(w.See) == 0 {
			t.Errorf("%s leads nowhere", w.Name)
		}
		for i, name := range w.See {
			if !exact[name] {
				t.Errorf("%s: no entry is named %q", w.Name, name)
			}
			if name == w.Name || slices.Contains(w.See[:i], name) {
				t.Errorf("%s: %q helps no further", w.Name, name)
			}
		}
	}
}

// TestGlossaryOwnMeanings keeps our own senses of a word marked as ours, so
// that a student does not take them for the trade's.
func TestGlossaryOwnMeanings(t *testing.T) {
	for _, name := range []string{
		"border", "eyelet", "group", "half-drop", "home pick", "leftover", "long slit", "lowered end", "one-way", "pass",
		"pick", "plain edge", "raised end", "row", "slack", "snug", "starting side", "strand", "turn", "two-way",
	} {
		w, _, _ := lookUp(name)
		if !strings.Contains(w.Says, "In our plans") {
			t.Errorf("%s: does not say that the meaning is ours: %s", name, w.Says)
		}
	}
}

func TestGlossaryCautions(t *testing.T) {
	rows := []struct{ name, danger, caution string }{
		{"wet finishing", "hot water", "local rules and qualified advice"},
		{"fulling", "hot water", "local rules and qualified advice"},
		{"dye", "dye", "local rules and qualified advice"},
		{"cutting off", "blades", "local safety rules"},
		{"posture", "strain", "qualified advice"},
		{"temple", "sharp points", "Mind your fingers"},
		{"brake", "a handle under load", "Hold the handle"},
		{"pawl", "a handle under load", "Hold the handle"},
		{"blocking", "pins", "count them"},
	}
	for _, row := range rows {
		w, _, _ := lookUp(row.name)
		if !strings.Contains(w.Says, row.caution) {
			t.Errorf("%s: no word of caution about %s: %s", row.name, row.danger, w.Says)
		}
	}
}

func TestGlossarySpellingIsBritish(t *testing.T) {
	american := []string{"selvage", "color", "fiber", "center", "meter", "gray", "woolen", "percent", "mold"}
	for _, w := range glossary {
		for _, field := range strings.Fields(strings.ToLower(w.Name + " " + w.Says)) {
			word := strings.TrimFunc(field, func(r rune) bool { return !unicode.IsLetter(r) })
			for _, a := range american {
				if strings.HasPrefix(word, a) {
					t.Errorf("%s: %q is spelt the American way", w.Name, word)
				}
			}
		}
	}
}

// TestGlossaryCountsAgree works out every length in an entry about yarn
// numbers again, and the tex constant that goes with it. A yard is 0.9144 m
// and a pound 453.59237 g, by definition.
func TestGlossaryCountsAgree(t *testing.T) {
	rows := []struct {
		name   string
		yards  float64 // in a length, one of which to the pound is number 1
		tex    float64 // of number 1
		source string
	}{
		{"cotton count", 840, 590.541, "ASTM D2260 table 1, seen"},
		{"linen lea", 300, 1653.52, "ASTM D2260 table 1, seen"},
		{"woollen run", 1600, 310.034, "ASTM D2260 table 1, seen"},
		{"worsted count", 560, 885.812, "ASTM D2260 table 1, seen"},
		{"spun silk count", 840, 590.541, "Taylor, Cotton Weaving and Designing, seen; tex as for cotton"},
	}
	for _, row := range rows {
		w, _, _ := lookUp(row.name)
		metres := row.yards * 0.9144
		if tex := 453.59237 / metres * 1000; math.Abs(tex-row.tex)/row.tex > 1e-5 {
			t.Errorf("%s: %.3f tex, %s has %.3f", row.name, tex, row.source, row.tex)
		}
		want := fmt.Sprintf("%.0f yards (%.0f metres)", row.yards, metres)
		if !strings.Contains(w.Says, want) || !strings.Contains(w.Says, "one pound (454 grams)") {
			t.Errorf("%s: want %q and the pound in grams: %s", row.name, want, w.Says)
		}
	}
}

func TestGlossaryFiguresAgree(t *testing.T) {
	const yard, inch, pound = 0.9144, 0.0254, 453.59237 // metres and grams, by definition
	rows := []struct {
		name, want, source string
	}{
		{"tex", fmt.Sprintf("1000 metres (about %.0f yards)", 1000/yard), "derived"},
		{"denier", fmt.Sprintf("9000 metres (about %.0f yards)", 9000/yard), "derived"},
		{"metric count", fmt.Sprintf("about %.0f yards to the pound", pound/yard), "derived; ASTM D2260, seen: 496.055"},
		{"yards per pound", fmt.Sprintf("about %.0f metres per 100 grams", 1000*yard/pound*100), "derived"},
		{"ends per inch", fmt.Sprintf("about %.0f in 10 cm", 10*0.1/inch), "derived"},
		{"picks per inch", fmt.Sprintf("about %.0f in 10 cm", 10*0.1/inch), "derived"},
		{"crimp", fmt.Sprintf("%.0f cm in 100 cm of cloth, or %.0f inches in 50", 100*1.06, 50*1.06), "derived; crimp is over cloth length, ASTM D3883, seen"},
		{"loom waste", "30 to 60 cm (12 to 24 inches)", "common practice, no source"},
		{"draw-in", "Five to ten per cent", "common practice, no source"},
		{"take-up", "Ten per cent", "common practice, no source"},
		{"shrinkage", "Cotton often loses 8 to 12 per cent and wool 8 to 15", "common practice, no source"},
		{"hemstitching", "three to four times the cloth's width", "two tutorials, seen"},
	}
	for _, row := range rows {
		w, _, _ := lookUp(row.name)
		if !strings.Contains(w.Says, row.want) {
			t.Errorf("%s: want %q (%s): %s", row.name, row.want, row.source, w.Says)
		}
	}
}

func TestLookUp(t *testing.T) {
	rows := []struct{ shows, asked, want string }{
		{"as written", "heddle", "heddle"},
		{"a plural", "heddles", "heddle"},
		{"a hyphen for a space", "rigid-heddle", "rigid heddle"},
		{"a space for a hyphen", "Take up", "take-up"},
		{"neither", "takeup", "take-up"},
		{"capitals", "SPANISH LACE", "Spanish lace"},
		{"a longer name is a different entry", "rigid heddle loom", "rigid-heddle loom"},
		{"a plural in -ies", "butterflies", "butterfly"},
		{"a plural in -sses", "passes", "pass"},
		{"a plural in -ches", "picks per inches", "picks per inch"},
		{"a plural of three letters", "hems", "hem"},
		{"a singular in -ss", "press", "press"},
		{"an abbreviation", "EPI", "ends per inch"},
		{"an American spelling", "selvages", "selvedge"},
		{"an American spelling of a joined word", "color-fast", "colourfast"},
		{"another American spelling", "fiber", "fibre"},
		{"another name", "tabby", "plain weave"},
		{"an apostrophe", "Brooks' bouquet", "bouquet"},
		{"a curly apostrophe", "weaver’s cross", "cross"},
		{"spaces around and a question mark", "  fell? ", "fell"},
		{"a no-break space", "loom\u00a0waste", "loom waste"},
		{"a right-to-left mark", "\u200fwarp\u200e", "warp"},
		{"what a row plan says", "heddle up", "up shed"},
	}
	for _, row := range rows {
		w, found, near := lookUp(row.asked)
		if !found || w.Name != row.want || near != nil {
			t.Errorf("%s: %q answers %q, found %v, near %v; want %q", row.shows, row.asked, w.Name, found, near, row.want)
		}
	}
}

func TestLookUpFindsEveryName(t *testing.T) {
	for _, w := range glossary {
		for _, name := range w.names() {
			for _, asked := range []string{
				name,
				strings.ToUpper(name),
				strings.ReplaceAll(name, " ", "-"),
				strings.ReplaceAll(name, "-", " "),
				strings.NewReplacer(" ", "", "-", "").Replace(name),
			} {
				if got, found, _ := lookUp(asked); !found || got.Name != w.Name {
					t.Errorf("%q answers %q, want %q", asked, got.Name, w.Name)
				}
			}
		}
	}
}

func TestLookUpNear(t *testing.T) {
	rows := []struct {
		shows, asked string
		want         []string
	}{
		{"a letter dropped", "hedle", []string{"heddle"}},
		{"letters swapped, a longer word beside it", "shuttel", []string{"shuttle"}},
		{"two letters wrong", "selvidje", []string{"selvedge"}},
		{"a beginning, three at most, heads of entries first", "war", []string{"warp", "warp beam", "warp-faced"}},
		{"the American beginning of a name", "color", []string{"colourfast"}},
		{"a known word with more after it", "warpweighted", []string{"warp"}},
		{"a slip in another name", "taby", []string{"plain weave"}},
		{"a short word is not guessed from one letter", "n", nil},
		{"nothing like it", "zzzzzz", nil},
		{"empty", "", nil},
		{"only signs", "?!…", nil},
		{"invalid UTF-8", "\xff\xfe", nil},
		{"far too long", strings.Repeat("heddle", 200_000), nil},
		{"one byte too long", strings.Repeat("h", longestAsked+1), nil},
	}
	for _, row := range rows {
		w, found, near := lookUp(row.asked)
		var got []string
		for _, n := range near {
			got = append(got, n.Name)
		}
		if found || w.Name != "" || !slices.Equal(got, row.want) {
			t.Errorf("%s: %.40q answers %q, found %v, near %q; want near %q", row.shows, row.asked, w.Name, found, got, row.want)
		}
	}
}

func FuzzLookUp(f *testing.F) {
	for _, seed := range []string{
		"", "heddle", "rigid-heddles", "Take up", "selvage", "hedle", "ss", "ies", "s", "İ", "ǅ", "\xff", "\u202e" + "warp", "ﬁbre", "٣", strings.Repeat("é", 32),
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, name string) {
		w, found, near := lookUp(name)
		if found == (w.Name == "") {
			t.Errorf("found %v with entry %q", found, w.Name)
		}
		if found && near != nil {
			t.Errorf("found %q and yet guesses", w.Name)
		}
		if len(near) > 3 {
			t.Errorf("%d guesses", len(near))
		}
		seen := map[string]bool{}
		for _, n := range near {
			if n.Name == "" || seen[n.Name] {
				t.Errorf("guess %q is empty or given twice", n.Name)
			}
			seen[n.Name] = true
		}
		if again, ok, _ := lookUp(" -" + name); len(name) < longestAsked-2 && (ok != found || again.Name != w.Name) {
			t.Errorf("signs in front of %q change the answer from %q to %q", name, w.Name, again.Name)
		}
	})
}
