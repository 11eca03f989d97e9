package main

import (
	"bytes"
	"errors"
	"runtime"
	"strings"
	"testing"

	"weftroom/calc/cputime"
	"weftroom/calc/lace"
)

// counter counts what is written and keeps none of it.
type counter struct {
	bytes, passes int
	tail          []byte // the last bytes, where a pass may begin
}

var passBegins = []byte(`{"step":`)

func (c *counter) Write(p []byte) (int, error) {
	joined := append(c.tail, p[:min(len(p), len(passBegins)-1)]...)
	c.passes += bytes.Count(joined, passBegins) + bytes.Count(p, passBegins)
	c.tail = append([]byte(nil), p[max(0, len(p)-len(passBegins)+1):]...)
	c.bytes += len(p)
	return len(p), nil
}

// TestLargestPlan: the widest plan in the most rows, two million passes, is
// planned, proven and written without being held as text. What it costs is bounded,
// by what planning and proving alone does, so far that going over every pass many
// times would be noticed.
func TestLargestPlan(t *testing.T) {
	const rows, groups = 1000, 1000
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	var out counter
	var stderr bytes.Buffer
	var code int
	took := cputime.Spent(t, func() {
		code = run([]string{"ask", "--json", "row ends:4000 raised:2 rows:1000"}, streams{strings.NewReader(""), &out, &stderr})
	})
	runtime.ReadMemStats(&after)
	allocated := after.TotalAlloc - before.TotalAlloc
	floor := cputime.Spent(t, func() {
		design, err := lace.Pattern{Ends: 4000, Raised: 2, Passes: 3, Rows: rows}.Design()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := lace.Make(design); err != nil {
			t.Fatal(err)
		}
	})
	t.Logf("%d bytes, %d passes, %v, %v of it to plan and prove, %.1f MB allocated in all", out.bytes, out.passes, took, floor, float64(allocated)/1e6)
	if code != exitOK || stderr.Len() > 0 {
		t.Fatalf("exit %d, %s", code, stderr.String())
	}
	if want := rows * (2*groups + 2); out.passes != want {
		t.Errorf("%d passes, want %d", out.passes, want)
	}
	if allocated > 60e6 {
		t.Errorf("%.1f MB allocated for %.1f MB of answer", float64(allocated)/1e6, float64(out.bytes)/1e6)
	}
	if took > 20*floor {
		t.Errorf("took %v, and planning and proving alone %v", took, floor)
	}
}

// full is a disk with room for so many bytes.
type full struct{ room int }

var errFull = errors.New("no space left")

func (f *full) Write(p []byte) (int, error) {
	if f.room -= len(p); f.room < 0 {
		return 0, errFull
	}
	return len(p), nil
}

// TestOutputThatFails: an answer cut short is our fault and not an answer.
func TestOutputThatFails(t *testing.T) {
	for _, room := range []int{0, 70_000, 200_000} {
		for _, args := range [][]string{{"--json", "row ends:4000 raised:2 rows:2"}, {"word"}} {
			if room > 0 && args[0] == "word" {
				continue
			}
			var stderr bytes.Buffer
			code := run(append([]string{"ask"}, args...), streams{strings.NewReader(""), &full{room}, &stderr})
			if code != exitFault || !strings.Contains(stderr.String(), errFull.Error()) {
				t.Errorf("room for %d bytes, %q: exit %d, %s", room, args, code, stderr.String())
			}
		}
	}
}
