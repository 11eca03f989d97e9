package lesson

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"weftroom/bot/lesson/lessontest"
	"weftroom/calc/lace"
)

// TestTextIsThePlan gives a weaver nothing but the text of a row plan: she
// reads the moves out of the words, and another time out of the short forms,
// opens the sheds by what her loom does, and weaves. The cloth must be the
// plan's, pass for pass.
func TestTextIsThePlan(t *testing.T) {
	const patterns = 400
	rng := rand.New(rand.NewPCG(97, 3))
	seen := map[string]int{}
	for range patterns {
		p, right := anyPattern(rng)
		line := lineOf(p, right)
		text := newRoom().answer(t, line)
		if err := retold(text, p, right); err != nil {
			t.Fatalf("%s: %v\n%s", line, err, text)
		}
		for _, kind := range kindsOf(p, right) {
			seen[kind]++
		}
	}
	t.Logf("%d patterns: %v", patterns, seen)
	for _, kind := range []string{
		"hole", "slot", "shaft1", "shaft2", "unknown", "from right", "from left", "one-way", "two-way", "straight", "half-drop",
		"no edge", "edge", "odd ends", "even ends", "3 passes", "more passes", "leftover far", "leftover both",
	} {
		if seen[kind] < patterns/10 {
			t.Errorf("%s: only %d of %d patterns", kind, seen[kind], patterns)
		}
	}
}

// TestNamedTexts keeps the patterns whose texts were once wrong, or nearly so.
func TestNamedTexts(t *testing.T) {
	rows := []struct {
		shows   string
		pattern lace.Pattern
		right   string
	}{
		{"a fold of the first moves hid that their turns are slack", lace.Pattern{Ends: 133, Raised: 3, Passes: 7, Rows: 2, Edge: 2, Way: lace.TwoWay, From: lace.Left}, "shaft1"},
		{"two groups at the end unlike the others", lace.Pattern{Ends: 98, Raised: 3, Passes: 3, Rows: 1, Edge: 4}, "shaft2"},
		{"one group", lace.Pattern{Ends: 13, Raised: 6, Passes: 3, Rows: 2}, "hole"},
		{"two groups, the last one odd", lace.Pattern{Ends: 13, Raised: 3, Passes: 3, Rows: 2, Way: lace.TwoWay}, "slot"},
		{"rows told by their first two and their last", lace.Pattern{Ends: 20, Raised: 2, Passes: 3, Rows: 1000, Repeat: lace.HalfDrop}, "hole"},
		{"the longest slit", lace.Pattern{Ends: 20, Raised: 2, Passes: 99, Rows: 1}, "unknown"},
		{"the widest warp", lace.Pattern{Ends: 4000, Raised: 2, Passes: 3, Rows: 1, From: lace.Left}, "slot"},
	}
	for _, row := range rows {
		line := lineOf(row.pattern, row.right)
		if err := retold(newRoom().answer(t, line), row.pattern, row.right); err != nil {
			t.Errorf("%s: %s: %v", row.shows, line, err)
		}
	}
}

var rightmosts = []string{"hole", "slot", "shaft1", "shaft2", "unknown"}

func anyPattern(rng *rand.Rand) (p lace.Pattern, rightmost string) {
	p = lace.Pattern{
		Ends: 8 + rng.IntN(150), Passes: 3, Rows: 1 + rng.IntN(8),
		Way: lace.Way(rng.IntN(2)), From: lace.Side(rng.IntN(2)), Leftover: lace.Leftover(rng.IntN(2)), Repeat: lace.Repeat(rng.IntN(2)),
	}
	if rng.IntN(3) == 0 {
		p.Passes = 5 + 2*rng.IntN(3)
	}
	p.Raised = 2 + rng.IntN(min(7, p.Ends/4-1))
	if room := (p.Ends/2 - 2*p.Raised) / 2; room > 0 && rng.IntN(2) == 0 {
		p.Edge = 1 + rng.IntN(min(room, 6))
	}
	return p, rightmosts[rng.IntN(len(rightmosts))]
}

func lineOf(p lace.Pattern, rightmost string) string {
	pick := func(second bool, words ...string) string {
		if second {
			return words[1]
		}
		return words[0]
	}
	line := fmt.Sprintf("row ends:%d raised:%d passes:%d rows:%d edge:%d way:%s from:%s leftover:%s repeat:%s",
		p.Ends, p.Raised, p.Passes, p.Rows, p.Edge, pick(p.Way == lace.TwoWay, "one", "two"), pick(p.From == lace.Left, "right", "left"),
		pick(p.Leftover == lace.Both, "far", "both"), pick(p.Repeat == lace.HalfDrop, "straight", "halfdrop"))
	if rightmost != "unknown" {
		line += " rightmost:" + rightmost
	}
	return line
}

func kindsOf(p lace.Pattern, rightmost string) []string {
	pick := func(second bool, words ...string) string {
		if second {
			return words[1]
		}
		return words[0]
	}
	return []string{
		rightmost, pick(p.From == lace.Left, "from right", "from left"), pick(p.Way == lace.TwoWay, "one-way", "two-way"),
		pick(p.Repeat == lace.HalfDrop, "straight", "half-drop"), pick(p.Edge > 0, "no edge", "edge"), pick(p.Ends%2 == 1, "even ends", "odd ends"),
		pick(p.Passes > 3, "3 passes", "more passes"), pick(p.Leftover == lace.Both, "leftover far", "leftover both"),
	}
}

// retold reads a text back and weaves what it says, and gives the first thing
// in which it is not the plan of p.
func retold(text string, p lace.Pattern, rightmost string) error {
	design, err := p.Design()
	if err != nil {
		return err
	}
	plan, err := lace.Make(design)
	if err != nil {
		return err
	}
	words, short, err := lessontest.ReadPlan(text, rightmost)
	if err != nil {
		return err
	}
	loose, err := lessontest.ReadWords(asInAChat(text), rightmost)
	if err != nil {
		return fmt.Errorf("cut and marked up: %w", err)
	}
	if !slices.EqualFunc(loose, words, func(a, b lace.Row) bool { return a.Start == b.Start && slices.Equal(a.Moves, b.Moves) }) {
		return errors.New("cut and marked up it is another plan")
	}
	if err := sameMoves(words, short); err != nil {
		return fmt.Errorf("the short form is not what the words say: %w", err)
	}
	if len(words) != len(plan.Rows) {
		return fmt.Errorf("%d rows are told of %d", len(words), len(plan.Rows))
	}
	want, err := lace.Weave(p.Ends, p.From, plan.Rows)
	if err != nil {
		return err
	}
	for name, rows := range map[string][]lace.Row{"words": words, "short form": short} {
		got, err := lace.Weave(p.Ends, p.From, rows)
		if err != nil {
			return fmt.Errorf("%s cannot be woven: %w", name, err)
		}
		for i := range want.Rows {
			if !slices.Equal(got.Rows[i].Passes, want.Rows[i].Passes) {
				return fmt.Errorf("%s weave another row %d", name, i+1)
			}
		}
	}
	return sameTurns(words, plan.Rows)
}

// asInAChat cuts a text where a chat might, and puts marks around its parts.
func asInAChat(text string) string {
	var b strings.Builder
	for i, line := range strings.Split(text, "\n") {
		line = strings.ReplaceAll(line, "heddle", "**heddle**")
		if words := strings.Fields(line); len(words) > 6 {
			line = "> " + strings.Join(words[:5], " ") + "\n" + strings.Join(words[5:], "  ")
		}
		b.WriteString(line + "\n")
		if i%9 == 8 {
			b.WriteString("\n```\n")
		}
	}
	return b.String()
}

func sameMoves(a, b []lace.Row) error {
	for i := range a {
		for j, m := range a[i].Moves {
			n := b[i].Moves[j]
			if m.Shed != n.Shed || m.Toward != n.Toward || m.Under != n.Under {
				return fmt.Errorf("row %d, move %d: %v and %v", i+1, j+1, m, n)
			}
		}
	}
	return nil
}

// sameTurns holds the tension that the words ask for against the plan's. How
// the weft comes into a row is told once for all rows, in the legend.
func sameTurns(told, plan []lace.Row) error {
	for i, row := range told {
		if row.Start != plan[i].Start {
			return fmt.Errorf("row %d starts at another side", i+1)
		}
		for j, m := range row.Moves[1:] {
			if p := plan[i].Moves[j+1]; m.Turn != p.Turn || m.Kind != p.Kind {
				return fmt.Errorf("row %d, move %d: turn or kind is another: %v, %v", i+1, j+2, m, p)
			}
		}
	}
	return nil
}

// TestSpoiltTextIsCaught: each way in which a text could be wrong must be
// found by the same reading.
func TestSpoiltTextIsCaught(t *testing.T) {
	straight := lace.Pattern{Ends: 97, Raised: 3, Passes: 3, Rows: 3}
	halfDrop := lace.Pattern{Ends: 60, Raised: 4, Passes: 5, Rows: 4, Repeat: lace.HalfDrop}
	twoWay := lace.Pattern{Ends: 41, Raised: 2, Passes: 3, Rows: 2, Way: lace.TwoWay, From: lace.Left}
	rows := []struct {
		shows    string
		pattern  lace.Pattern
		right    string
		old, new string
	}{
		{"a fold repeated once too seldom", straight, "hole", "repeat moves 4–5, 12 more times", "repeat moves 4–5, 11 more times"},
		{"a short fold repeated once too often", straight, "hole", "  ↻ 4–5 ×12", "  ↻ 4–5 ×13"},
		{"a fold of other moves", straight, "hole", "repeat moves 4–5", "repeat moves 3–4"},
		{"a fold with another label", straight, "hole", "6–29", "6–30"},
		{"a move without its number", straight, "hole", "   31  ", "   32  "},
		{"a count in words", straight, "hole", "to the left, under 7;", "to the left, under 6;"},
		{"a count in the short form", straight, "hole", "← 7 ▲", "← 6 ▲"},
		{"a count in both", straight, "hole", "to the left, under 7; draw the turn snug          ← 7 ▲", "to the left, under 6; draw the turn snug          ← 6 ▲"},
		{"a shed in words", straight, "hole", " 2  heddle down:", " 2  heddle up:"},
		{"a shed in the short form", straight, "hole", "→ 48 ▼", "→ 48 ▲"},
		{"a direction in words", straight, "hole", "back to the right", "back to the left"},
		{"an arrow", straight, "hole", "→ 48 ▼", "← 48 ▼"},
		{"a legend that swaps the signs", straight, "hole", "up is ▲, heddle down is ▼", "up is ▼, heddle down is ▲"},
		{"both sheds on the other loom", straight, "slot", "", ""},
		{"a tension", straight, "hole", "under 6; leave the turn slack", "under 6; draw the turn snug  "},
		{"a row left out of a heading", straight, "hole", "Rows 1–3", "Rows 1–2"},
		{"a row told twice", halfDrop, "shaft1", "Rows 2, 4", "Rows 2–4"},
		{"rows from the other side", halfDrop, "shaft1", "Rows 1, 3, each from the right", "Rows 1, 3, each from the left"},
		{"rows exchanged", halfDrop, "shaft1", "Rows 1, 3", "Rows 2, 4"},
		{"a move count in a heading", twoWay, "shaft2", "from the left: 21 moves", "from the left: 20 moves"},
		{"the last move left out", twoWay, "shaft2", "   21  shaft", "  (21) shaft"},
	}
	for _, row := range rows {
		told := row.right
		if row.old == "" {
			told = "hole" // the text is for another loom than the weaver's
		}
		text := newRoom().answer(t, lineOf(row.pattern, told))
		if err := retold(text, row.pattern, told); err != nil {
			t.Errorf("%s: wrong before it is spoilt: %v", row.shows, err)
		}
		spoilt := text
		if row.old != "" {
			if spoilt = strings.Replace(text, row.old, row.new, 1); spoilt == text {
				t.Errorf("%s: no %q in\n%s", row.shows, row.old, text)
			}
		}
		if err := retold(spoilt, row.pattern, row.right); err == nil {
			t.Errorf("%s: not caught", row.shows)
		}
	}
}
