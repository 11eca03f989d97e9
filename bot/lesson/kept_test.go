package lesson_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"weftroom/bot"
	"weftroom/bot/class"
)

// keptOf says in which list of the answer to me the rows of each table are, or
// why a table holds nothing of a person.
var keptOf = map[string]string{
	"persons": "person", "accounts": "accounts", "looms": "loom", "walks": "walk", "members": "classes", "attendance": "answers", "questions": "questions",
	"schedules": "schedules", "designs": "designs", "links": "links", "settled": "links", "account_limits": "limits", "merged": "before", "guesses": "wrong_codes",
	"ledger": "requests", "outbox": "posts", "notes": "notes",

	"classes": "- nobody's", "places": "- nobody's", "sessions": "- nobody's", "meta": "- nobody's", "chat_lease": "- nobody's",
	"forgotten": "- ids and digests of those who are gone",
}

// herName is a name of hers, as a word: ids are drawn by chance, and now and then
// one has the letters of a name in it.
var herName = regexp.MustCompile(`(?i)\brae(lynn)?\b`)

// TestMeIsComplete: a person who has left a row in every table finds all of them
// in what she is told, and when she is forgotten none is left.
func TestMeIsComplete(t *testing.T) {
	s := newStage(t)
	s.play(
		"@power maren", "@room hall", `maren@room> class open "Tarnholm lace" zone:Berlin`, `maren@hall> class open "Tarnholm knots" zone:Berlin`,
		"rae@room> join", "rae@hall> join", "rae@room> loom ends:97 rightmost:hole", "rae@room> start", "rae@other/dm> settings zone:Lisbon name:Raelynn",
		`maren@room> session add "26 nov 19:00"`, "rae@room> coming", "rae@room> question Where do I begin?", "rae@room> ready",
		"maren@room> class teachers add:Rae", `rae@room> say every:"mon 9:00" text:"Bring scissors"`,
	)
	if len(s.reply.Buttons) > 0 {
		s.play("rae@room> [" + s.reply.Buttons[0].Label + "]")
	}
	if _, err := s.db.KeepDesign(t.Context(), bot.Account{Chat: home, User: "rae"}, class.Design{Name: "May", Asked: "text:MAY"}); err != nil {
		t.Fatal(err)
	}
	s.link("rae", home)
	s.play("maren@hall> class close sure:yes")
	s.do("rae@dm> link AAAA-AAAA") // a wrong code
	s.play("rae@dm> link", "rae@dm> me")
	raw, err := json.Marshal(s.reply.Data)
	if err != nil {
		t.Fatal(err)
	}
	var me map[string]any
	if err := json.Unmarshal(raw, &me); err != nil {
		t.Fatal(err)
	}

	hers := s.rowsOf(s.identities("rae")...)
	told := map[string]int{}
	for _, table := range slices.Sorted(maps.Keys(s.tables())) {
		list, known := keptOf[table]
		switch {
		case !known:
			t.Errorf("nobody has thought of the table %s", table)
		case strings.HasPrefix(list, "-"):
		case hers[table] == 0:
			t.Errorf("the test is too easy: she has left nothing in %s", table)
		default:
			told[list] += hers[table]
		}
	}
	// She was two, of whom the earlier one is told with what was hers.
	told["person"]--
	for list, rows := range told {
		if n := length(me[list]); n != rows {
			t.Errorf("%s: %d told, %d kept", list, n, rows)
		}
	}

	who := s.identities("rae")
	named := 0
	for _, rows := range s.tables() {
		for _, row := range rows {
			if herName.MatchString(row) {
				named++
			}
		}
	}
	if named < 5 {
		t.Errorf("her name stands in only %d rows before", named)
	}
	s.play("rae@dm> forget sure:yes")
	for table, n := range s.rowsOf(who...) {
		if n > 0 && table != "forgotten" {
			t.Errorf("%d rows of her are left in %s", n, table)
		}
	}
	for table, rows := range s.tables() {
		for _, row := range rows {
			answerToAnother := table == "ledger" // until it is pruned; she was told so
			if !answerToAnother && herName.MatchString(row) {
				t.Errorf("her name is left in %s: %s", table, row)
			}
		}
	}
}

func length(v any) int {
	switch v := v.(type) {
	case nil:
		return 0
	case []any:
		return len(v)
	}
	return 1
}

// tables are all tables, each row as one text.
func (s *stage) tables() map[string][]string {
	out := map[string][]string{}
	for _, t := range s.query(`SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%' AND name NOT LIKE 'goose%'`) {
		out[t[0]] = nil
		for _, row := range s.query(`SELECT * FROM ` + t[0]) {
			out[t[0]] = append(out[t[0]], strings.Join(row, "\x00"))
		}
	}
	return out
}

// identities are the words by which a user's rows are known: her ids, past ones
// too, and what stands for her accounts.
func (s *stage) identities(user string) []string {
	var out []string
	p, err := s.db.FindPerson(s.t.Context(), bot.Account{Chat: home, User: user})
	if err != nil {
		s.t.Fatal(err)
	}
	for _, row := range s.query(`SELECT id FROM persons WHERE id = $1 OR merged_into = $1`, p.ID) {
		out = append(out, row[0])
	}
	// What each of her accounts asked, and nobody else.
	for _, row := range s.query(`SELECT DISTINCT asker FROM ledger WHERE reply LIKE '%"Your loom"%' OR reply LIKE '%You are called Raelynn%'`) {
		out = append(out, row[0])
	}
	return append(out, "\x00"+user+"\x00", "@"+user+"\x00", fmt.Sprintf("%q", user))
}

// rowsOf counts, by table, the rows in which one of the words stands.
func (s *stage) rowsOf(words ...string) map[string]int {
	out := map[string]int{}
	for table, rows := range s.tables() {
		for _, row := range rows {
			if slices.ContainsFunc(words, func(w string) bool { return strings.Contains("\x00"+row+"\x00", w) }) {
				out[table]++
			}
		}
	}
	return out
}
