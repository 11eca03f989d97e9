package lesson

import (
	"regexp"
	"strings"
	"testing"

	"weftroom/bot"
	"weftroom/calc"
)

// saidElsewhere are sentences that no conversation of one person can bring
// about, and who brings them about.
var saidElsewhere = map[string]string{
	"dispatch.internal":    "a fault of ours: tests of package bot",
	"dispatch.busy":        "too many requests at once: tests of package bot",
	"dispatch.sub":         "a command in two words: the talk of a class",
	"dispatch.unsure":      "never shown: the ways to say it are read",
	"help.lines":           "where a chat has a way of its own: tests of package bot and of the chats",
	"line.unknown_command": "the talk of direct messages",
	"row.proof_single":     "the first talk",
	"row.all_short":        "in print: TestALongListInPrint",
	"row.short_how":        "in print: TestALongListInPrint",
	"row.short_text":       "in print: TestALongListInPrint",
	"row.short_left.":      "in print: TestTheLongestListInPrint",
	"row.short.":           "in print: TestALongListInPrint",
	"loom.ends_doubted":    "the first talk",
	"word.small":           "never shown: what a question puts before a word is read",
	"role.":                "whose a command is: the talks of a class",
	"kind.choice":          "help lists the choices instead",
	"line.no_arguments":    "a command without arguments: the first talk",
	"console.":             "tests of adapters/console",
	"desk.":                "who asks, and where: tests of the commands of a class",
	"warp.source.":         "the tables of calc/warp: TestWarpSaysItsLabels",
	"warp.remark.":         "the tables of calc/warp: TestWarpSaysItsLabels",
}

var verb = regexp.MustCompile(`%(\[\d+\])?[sdv]`)

// TestEverySentenceIsSaid looks for the longest piece without a verb of each
// sentence in the answers of real conversations.
func TestEverySentenceIsSaid(t *testing.T) {
	var all strings.Builder
	for _, r := range corpus(t) {
		all.WriteString(unwrapped(bot.Plain(r)) + "\n")
	}
	text := all.String()
	for _, part := range []bot.Texts{englishCore, englishCommands, englishRow, englishLoom, englishWarp} {
		for key, format := range part {
			if elsewhere(key) {
				continue
			}
			longest := ""
			for _, piece := range verb.Split(format, -1) {
				if piece = unwrapped(piece); len(piece) > len(longest) {
					longest = piece
				}
			}
			if !strings.Contains(text, longest) {
				t.Errorf("%s is not said: %q", key, longest)
			}
		}
	}
}

func elsewhere(key calc.Key) bool {
	for k := range saidElsewhere {
		if string(key) == k || strings.HasSuffix(k, ".") && strings.HasPrefix(string(key), k) {
			return true
		}
	}
	return false
}

// TestAnswersAreWellSaid looks through all answers for traces of the machinery.
func TestAnswersAreWellSaid(t *testing.T) {
	texts := English()
	rawKey := regexp.MustCompile(`\b[a-z]+(\.[a-z_]+)+\b`)
	for _, r := range corpus(t) {
		text := bot.Plain(r)
		wellSaid(t, r.Command, strings.TrimSpace(text))
		for _, found := range rawKey.FindAllString(text, -1) {
			if _, key := texts[calc.Key(found)]; key {
				t.Errorf("the key %s shows in %q", found, text)
			}
		}
	}
}

var (
	shedNumber = regexp.MustCompile(`(?i)\bsheds? [12]\b`)
	quantity   = `(?:under )?\d[\d,]*(?:\.\d+)?(?: \d+/\d+)?(?:/\d+)? (?:in|yd|cm|m|g|kg|oz|lb(?: \d[\d./ ]* oz)?|per inch|per 10 cm)\b`
	bothUnits  = regexp.MustCompile(quantity + ` \(` + quantity + `\)`)
	oneUnit    = regexp.MustCompile(quantity)
	// what may stand in one unit: an example, a question about a number as it is
	// written on a heddle, a yarn as it was written, and a definition
	inOneUnit = regexp.MustCompile("`[^`]*`|“[^”]*”|for example [^.]*|For example.*|over 4 inches, then divide by 4; or over 10 cm|over 2 inches, then divide by 2; or over 10 cm|" +
		`lengths with their unit: [^.]*|such as 10, or per 10 cm|such as 20, or per 10 cm|may be per inch or per 10 cm|\d+ (?:yd/lb|m/100 g)`)
)

// TestShedsHaveTheirNames: whoever has said how her rightmost end sits reads of
// heddle up and heddle down, or of shafts, in every answer of every command.
func TestShedsHaveTheirNames(t *testing.T) {
	for _, place := range []string{"hole", "slot", "shaft1", "shaft2"} {
		asked := 0
		for _, lines := range conversations {
			r := newRoom()
			r.say("loom ends:50 rightmost:" + place)
			for _, line := range lines {
				if strings.Contains(line, "rightmost:") || strings.Contains(line, "kind:") || strings.Contains(line, "clear:") || line == "floor loom" || line == "rigid heddle" {
					continue // it is about another place, or forgets this one
				}
				reply := r.say(line)
				if loom := r.looms.kept[bot.Account{Chat: "test", User: "she"}]; loom.Rightmost == "" {
					t.Fatalf("%q makes the rightmost end unknown", line)
				}
				asked++
				if found := shedNumber.FindString(bot.Plain(reply)); found != "" {
					t.Errorf("%s: %.60q is answered with %q", place, line, found)
				}
			}
		}
		if asked < 100 {
			t.Errorf("only %d answers looked at", asked)
		}
	}
	if !shedNumber.MatchString(newRoom().answer(t, "row ends:20")) {
		t.Error("who has said nothing reads no shed 1 either")
	}
}

// TestQuantitiesStandInBothUnits: each length, mass and sett that is answered
// has the other units beside it.
func TestQuantitiesStandInBothUnits(t *testing.T) {
	pairs := 0
	for _, r := range corpus(t) {
		if r.Command == "help" || r.Command == "word" {
			continue // declarations and definitions
		}
		text := unwrapped(bot.Plain(r))
		pairs += len(bothUnits.FindAllString(text, -1))
		rest := inOneUnit.ReplaceAllString(bothUnits.ReplaceAllString(text, "…"), "…")
		if r.Problem != nil {
			rest = regexp.MustCompile(`: [^:]*? is outside`).ReplaceAllString(rest, ": … is outside") // as she wrote it
		}
		if found := oneUnit.FindString(rest); found != "" {
			t.Errorf("%s: %q stands alone in %q", r.Command, found, text)
		}
	}
	if pairs < 200 {
		t.Errorf("only %d quantities found", pairs)
	}
}

func TestOneUnitIsFound(t *testing.T) {
	rows := []struct {
		shows, text string
		alone       string
	}{
		{"both", "15 1/2 in (39.5 cm) wide", ""},
		{"both, metric first", "3.25 m (3 1/2 yd) of weft", ""},
		{"a sett", "10 per inch (39 per 10 cm)", ""},
		{"pounds and ounces", "3 lb 7 oz (1.56 kg)", ""},
		{"less than can be shown", "under 1/8 in (under 0.5 cm)", ""},
		{"inches alone", "it is 15 1/2 in wide", "15 1/2 in"},
		{"centimetres alone", "38 cm wide", "38 cm"},
		{"a sett alone", "set 10 per inch", "10 per inch"},
		{"grams alone", "takes 57 g", "57 g"},
		{"a count is no length", "97 ends in all", ""},
	}
	for _, row := range rows {
		got := oneUnit.FindString(bothUnits.ReplaceAllString(row.text, "…"))
		if got != row.alone {
			t.Errorf("%s: %q alone in %q, want %q", row.shows, got, row.text, row.alone)
		}
	}
}
