package lesson_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"testing"

	"weftroom/bot"
	"weftroom/bot/lesson/lessontest"
	"weftroom/calc/lace"
)

// TestWovenAsCharted: what a weaver reads of a design, woven by the simulated
// weaver, has its holes where the chart of the same answer has them. Neither the
// plan nor the fit behind the words is asked.
func TestWovenAsCharted(t *testing.T) {
	looms := []struct {
		ends            int
		from, rightmost string
	}{{60, "right", "hole"}, {61, "right", "slot"}, {60, "left", "shaft1"}, {61, "left", "shaft2"}, {33, "right", "hole"}}
	for _, line := range []string{
		"motif text:A", "motif text:I way:two", "motif text:J passes:5", `motif chart:"..o../.o.o./o...o" way:two rows:5`,
		`motif chart:"oo.o/.oo." cell:1 across:2`, "motif ground:diamond rows:6", "motif ground:waves size:2 rows:4 mirror:yes way:two",
		`motif chart:"o.o.o/.o.o." margin:0 asis:yes`, `motif chart:"o...." across:0 top:first passes:7`,
	} {
		for _, loom := range looms {
			t.Run(fmt.Sprintf("%s on %d from the %s", line, loom.ends, loom.from), func(t *testing.T) {
				s := newStage(t)
				s.do(fmt.Sprintf("maya@dm> loom ends:%d from:%s rightmost:%s heddle:10 units:inches", loom.ends, loom.from, loom.rightmost))
				s.do("maya@dm> " + line)
				wovenAsCharted(t, s.reply, loom.ends, loom.from, loom.rightmost)
			})
		}
	}
}

func wovenAsCharted(t *testing.T, r bot.Reply, ends int, from, rightmost string) {
	t.Helper()
	if r.Problem != nil {
		t.Fatal(r.Problem.Sentence())
	}
	raw, err := json.Marshal(r.Data)
	if err != nil {
		t.Fatal(err)
	}
	var told struct {
		Chart []string `json:"chart"`
		Cell  int      `json:"cell"`
		Right int      `json:"margin_right"`
	}
	if err := json.Unmarshal(raw, &told); err != nil {
		t.Fatal(err)
	}
	words, short, err := lessontest.ReadPlan(bot.Plain(r), rightmost)
	if err != nil {
		t.Fatal(err)
	}
	side := lace.Right
	over := 0 // ends at the right of the first pair
	if from == "left" {
		side, over = lace.Left, ends%2
	}
	for _, rows := range [][]lace.Row{words, short} {
		woven, err := lessontest.Holes(ends, side, rows)
		if err != nil {
			t.Fatal(err)
		}
		if len(woven) != len(told.Chart) {
			t.Fatalf("%d rows woven, %d in the chart", len(woven), len(told.Chart))
		}
		for i, row := range told.Chart {
			var want []int
			for j := range row {
				if row[len(row)-1-j] == 'o' { // from the right
					want = append(want, over+2*(told.Right+j*told.Cell))
				}
			}
			if !slices.Equal(woven[i], want) {
				t.Errorf("row %d, %s: holes at %v, want %v ends from the right", i+1, row, woven[i], want)
			}
		}
	}
}
