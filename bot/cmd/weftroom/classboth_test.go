//go:build goolm

package main

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"weftroom/bot/lesson/lessontest"
	"weftroom/calc/lace"
)

var linkCode = regexp.MustCompile(`[A-Z0-9]{4}-[A-Z0-9]{4}`)

// TestOnePersonInBothChats: whoever links her accounts has one loom in both.
func TestOnePersonInBothChats(t *testing.T) {
	t.Parallel()
	onDiscord, onMatrix := newDiscordVenue(t), newMatrixVenue(t)
	newBuilding(t, onDiscord, onMatrix)
	there, here := sixLooms[0], sixLooms[0]
	there.pattern.Raised, there.pattern.Passes, there.pattern.Rows = 3, 3, 2
	here.pattern = there.pattern
	there.actor, here.actor = onDiscord.person(t, "Teodor", true), onMatrix.person(t, "Teodor", false)
	onDiscord.registered(t)

	there.tell(t, true, there.loom, "That is all I need")
	here.tell(t, true, "row rows:2", "number of ends")
	linkBoth(t, there, here)
	here.asksForPlan(t, true, "row rows:2", "one-way, 2 rows")

	// And what changes in one chat has changed in the other.
	here.tell(t, true, "loom ends:150", "150 ends")
	there.pattern.Ends = 150
	there.asksForPlan(t, true, "row rows:2", "one-way, 2 rows")
}

// TestWalkFromChatToChat: a student goes through two rows one move at a time. The
// assistant is killed on the way; she changes from Discord to Matrix in mid-row,
// miscounts, is told what may have happened, and finishes. What she was shown,
// move by move, is woven and must be the cloth of the plan.
func TestWalkFromChatToChat(t *testing.T) {
	t.Parallel()
	onDiscord, onMatrix := newDiscordVenue(t), newMatrixVenue(t)
	b := newBuilding(t, onDiscord, onMatrix)
	her := guest{name: "Teodor", rightmost: "hole", pattern: lace.Pattern{Ends: 24, Raised: 3, Passes: 3, Rows: 2}}
	there, here := her, her
	there.actor, here.actor = onDiscord.person(t, "Teodor", true), onMatrix.person(t, "Teodor", false)
	onDiscord.registered(t)
	there.tell(t, true, `loom kind:"rigid heddle" ends:24 heddle:10 rightmost:hole from:right units:inches`, "That is all I need")
	linkBoth(t, there, here)

	shown := map[[2]int]lace.Move{}
	moves := 0
	// see keeps what one answer shows, and says where she is.
	see := func(text string) lessontest.Shown {
		t.Helper()
		m, err := lessontest.ReadMove(text, her.rightmost, her.pattern.From)
		if err != nil {
			t.Fatal(err)
		}
		if moves == 0 {
			moves = m.Moves
		}
		at := [2]int{m.Row, m.Step}
		if before, again := shown[at]; again && before != m.Move {
			t.Errorf("row %d, move %d is shown as %v and as %v", m.Row, m.Step, before, m.Move)
		}
		shown[at] = m.Move
		return m
	}
	place := func(row, move int) string { return fmt.Sprintf("Row %d of 2, move %d of %d", row, move, moves) }

	see(there.tell(t, true, "start rows:2", "Row 1 of 2, move 1 of"))
	press := func(g guest, row, move int) {
		t.Helper()
		g.press(t, true, "Next")
		see(g.wait(t, true, "pressing Next", place(row, move)))
	}
	for move := 2; move <= moves; move++ {
		if move == 5 {
			b.kill()
			b.start()
			onDiscord.present(t, 2)
		}
		press(there, 1, move)
	}
	press(there, 2, 1)
	press(there, 2, 2)

	// In mid-row she changes chat.
	if m := see(here.tell(t, true, "where", place(2, 2))); m.Row != 2 || m.Step != 2 {
		t.Fatalf("in the other chat she is at row %d, move %d", m.Row, m.Step)
	}
	for move := 3; move < moves; move++ {
		press(here, 2, move)
	}
	told := here.tell(t, true, "problem row:2 left:6", "What may have happened in row 2", "What to do")
	if !strings.Contains(unmarked(told), "unpick") {
		t.Errorf("no remedy in:\n%s", told)
	}
	see(here.tell(t, true, "next", place(2, moves)))
	here.tell(t, true, "next", "Your last row is woven")
	there.tell(t, true, "where", "Your last row is woven")

	rows := make([]lace.Row, 2)
	for i := range rows {
		for move := 1; move <= moves; move++ {
			rows[i].Moves = append(rows[i].Moves, shown[[2]int{i + 1, move}])
		}
	}
	her.wove(t, rows)
}

// linkBoth makes two accounts one person.
func linkBoth(t *testing.T, there, here guest) {
	t.Helper()
	code := linkCode.FindString(there.tell(t, true, "link", "Your code is"))
	here.tell(t, true, "link code:"+code, "Are both of these you?")
	here.tell(t, true, "link yes", "Half of it is done")
	there.tell(t, true, "link", "Are both of these you?")
	there.tell(t, true, "link yes", "one person now")
}
