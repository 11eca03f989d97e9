package lesson

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"weftroom/bot/paper"
	"weftroom/calc/lace"
)

var (
	printedStep  = regexp.MustCompile(`^(\d+(?:–\d+)?) ((?:heddle|shaft|shed|repeat) .*)$`)
	printedShort = regexp.MustCompile(`^(.*?) ?([←→] \d+ [▲▼①②●○]|↻ \d+–\d+ ×\d+)$`)
)

// retyped lays out what pdftotext reads, in the order of the page, as plain text
// is: the moves indented, each on one line with its short form at the end.
func retyped(read string) string {
	var out strings.Builder
	step := ""
	for line := range strings.Lines(strings.ReplaceAll(read, "\f", "")) {
		line = strings.TrimRight(line, "\n")
		if m := printedStep.FindStringSubmatch(line); m != nil && step == "" {
			step = "    " + m[1] + "  " + m[2]
		} else if step != "" {
			step += " " + line
		} else {
			out.WriteString(line + "\n")
			continue
		}
		if m := printedShort.FindStringSubmatch(step); m != nil {
			out.WriteString(m[1] + "   " + m[2] + "\n")
			step = ""
		}
	}
	return out.String()
}

// TestPrintedPlanIsThePlan reads a printed handout as a program for people who
// do not see does, and gives what it reads to the simulated weaver.
func TestPrintedPlanIsThePlan(t *testing.T) {
	if _, err := exec.LookPath("pdftotext"); err != nil {
		t.Skip("pdftotext is not installed (Debian package poppler-utils)")
	}
	for _, row := range []struct {
		pattern lace.Pattern
		right   string
		more    string
	}{
		{lace.Pattern{Ends: 97, Raised: 3, Passes: 3, Rows: 2}, "hole", " heddle:10 page:a4"},
		{lace.Pattern{Ends: 98, Raised: 3, Passes: 3, Rows: 2, From: lace.Left, Edge: 4}, "slot", " heddle:40/10cm page:letter long:1.5m"},
		{lace.Pattern{Ends: 60, Raised: 4, Passes: 5, Rows: 6, Repeat: lace.HalfDrop}, "shaft1", " page:a4"},
		{lace.Pattern{Ends: 41, Raised: 2, Passes: 3, Rows: 4, Way: lace.TwoWay, Repeat: lace.HalfDrop, From: lace.Left}, "shaft2", " page:letter"},
		{lace.Pattern{Ends: 100, Raised: 3, Passes: 7, Rows: 1, Leftover: lace.Both}, "unknown", " page:a4"},
		{lace.Pattern{Ends: 4000, Raised: 5, Passes: 3, Rows: 1}, "hole", " page:a4"},
	} {
		line := strings.Replace(lineOf(row.pattern, row.right), "row ", "handout ", 1) + row.more
		reply := newRoom().say(line)
		if reply.Problem != nil || len(reply.Files) != 2 {
			t.Fatalf("%s: %+v", line, reply)
		}
		if err := retold(retyped(readPDF(t, reply.Files[0].Bytes)), row.pattern, row.right); err != nil {
			t.Errorf("%s, as printed: %v", line, err)
		}
		if err := retold(string(reply.Files[1].Bytes), row.pattern, row.right); err != nil {
			t.Errorf("%s, as text: %v", line, err)
		}
	}
}

// TestSpoiltPrintIsCaught: the reading above must see another count, and a move
// that is not there.
func TestSpoiltPrintIsCaught(t *testing.T) {
	if _, err := exec.LookPath("pdftotext"); err != nil {
		t.Skip("pdftotext is not installed (Debian package poppler-utils)")
	}
	p := lace.Pattern{Ends: 97, Raised: 3, Passes: 3, Rows: 2}
	line := strings.Replace(lineOf(p, "hole"), "row ", "handout ", 1)
	text := retyped(readPDF(t, newRoom().say(line).Files[0].Bytes))
	for from, to := range map[string]string{
		"to the left, under 7;": "to the left, under 6;",
		"← 7 ▲":                 "← 6 ▲",
		"heddle down is":        "heddle up is",
		"    4  heddle":         "    5  heddle",
		"12 more times":         "11 more times",
	} {
		if !strings.Contains(text, from) {
			t.Errorf("%q is not in it", from)
			continue
		}
		if retold(strings.Replace(text, from, to, 1), p, "hole") == nil {
			t.Errorf("%q instead of %q was not seen", to, from)
		}
	}
}

func readPDF(t *testing.T, pdf []byte) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "handout.pdf")
	if err := os.WriteFile(file, pdf, 0o666); err != nil {
		t.Fatal(err)
	}
	out, err := exec.CommandContext(t.Context(), "pdftotext", "-raw", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// TestHandoutsAreSmallAndValid prints the plans that fill most pages and
// pictures, and the smallest.
func TestHandoutsAreSmallAndValid(t *testing.T) {
	for _, line := range []string{
		"handout ends:8 raised:2",
		"handout ends:97 raised:3 rows:2 rightmost:hole heddle:10 long:72in",
		"handout ends:100 raised:3 rows:40 repeat:halfdrop way:two heddle:10",
		"handout ends:300 raised:3 rows:40 repeat:halfdrop heddle:10 ppi:25",
		"handout ends:20 raised:2 passes:99 rows:5",
		"handout ends:24 raised:2 passes:99 repeat:halfdrop way:two rows:4",
		"handout ends:4000 raised:2 rows:1000 passes:5",
		"handout ends:4000 raised:2000 rows:1",
	} {
		reply := newRoom().say(line)
		if reply.Problem != nil {
			t.Errorf("%s: %s", line, reply.Problem.Sentence())
			continue
		}
		pdf := reply.Files[0].Bytes
		pages := reply.Data.(handoutData).Pages
		t.Logf("%s: %d pages, %d bytes", line, pages, len(pdf))
		if len(pdf) > 300_000 || pages > paper.MaxHandoutPages {
			t.Errorf("%s: %d pages, %d bytes", line, pages, len(pdf))
		}
		if again := newRoom().say(line); !bytes.Equal(again.Files[0].Bytes, pdf) || !bytes.Equal(again.Files[1].Bytes, reply.Files[1].Bytes) {
			t.Errorf("%s: other bytes at the second time", line)
		}
		checkPDF(t, line, pdf)
	}
}

// checkPDF lets qpdf and Ghostscript read a PDF, where they are installed.
func checkPDF(t *testing.T, line string, pdf []byte) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "handout.pdf")
	if err := os.WriteFile(file, pdf, 0o666); err != nil {
		t.Fatal(err)
	}
	for _, judge := range [][]string{
		{"qpdf", "--check", file},
		{"gs", "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-dPDFSTOPONWARNING", "-sDEVICE=nullpage", file},
	} {
		if _, err := exec.LookPath(judge[0]); err != nil {
			t.Run(judge[0], func(t *testing.T) { t.Skipf("%s is not installed (Debian packages qpdf, ghostscript)", judge[0]) })
			continue
		}
		out, err := exec.CommandContext(t.Context(), judge[0], judge[1:]...).CombinedOutput()
		if err != nil || judge[0] == "gs" && len(out) > 0 || bytes.Contains(out, []byte("WARNING")) {
			t.Errorf("%s: %s: %v: %s", line, judge[0], err, out)
		}
	}
}

// TestPagesSayWhatTheTextSays looks for each paragraph of the plain text on the
// pages.
func TestPagesSayWhatTheTextSays(t *testing.T) {
	if _, err := exec.LookPath("pdftotext"); err != nil {
		t.Skip("pdftotext is not installed (Debian package poppler-utils)")
	}
	reply := newRoom().say("handout ends:97 raised:3 rows:2 rightmost:hole heddle:10 long:72in page:a4")
	printed := unwrapped(regexp.MustCompile(`(?m)^Page \d+ of \d+$`).ReplaceAllString(readPDF(t, reply.Files[0].Bytes), ""))
	text := string(reply.Files[1].Bytes)
	looked := 0
	for block := range strings.SplitSeq(text, "\n\n") {
		if strings.HasPrefix(strings.TrimSpace(block), "[") || strings.Contains(block, "──") || strings.Contains(block, " · ") || strings.Contains(block, "▲") {
			continue // the words of a picture, a table, and moves: these are told by other tests
		}
		for item := range strings.SplitSeq("\n"+block, "\n- ") {
			item = unwrapped(item)
			looked++
			if !strings.Contains(printed, item) {
				t.Errorf("not on the pages: %q", item)
			}
		}
	}
	if looked < 30 {
		t.Errorf("only %d paragraphs were looked for", looked)
	}
}
