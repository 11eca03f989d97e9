//go:build unix

package main

import (
	"bytes"
	"os"
	"strings"
	"testing"
	"time"
)

// TestAskTakesWhatStandsThere: where a file is missing, a pipe on standard input is
// one, unless nothing is in it.
func TestAskTakesWhatStandsThere(t *testing.T) {
	for written, want := range map[string]string{"o.\n.o\n": "Your chart in holes on 24 ends", "": "I need something to make the design from"} {
		in, from := openPipe(t)
		if _, err := from.WriteString(written); err != nil {
			t.Fatal(err)
		}
		from.Close()
		var out, complaint bytes.Buffer
		code := run([]string{"ask", "motif ends:24 rightmost:hole"}, streams{in, &out, &complaint})
		if said := out.String() + complaint.String(); (code == exitOK) != (written != "") || !strings.Contains(said, want) {
			t.Errorf("with %q: exit %d: %s", written, code, said)
		}
	}
}

// TestBegins: a pipe that somebody holds open without a word is not waited for.
func TestBegins(t *testing.T) {
	in, from := openPipe(t)
	if begins(in, time.Millisecond) {
		t.Error("an empty pipe has something to read")
	}
	if _, err := from.WriteString("o"); err != nil {
		t.Fatal(err)
	}
	if !begins(in, time.Minute) {
		t.Error("what was written does not come")
	}
	none, err := os.Open(os.DevNull)
	if err != nil {
		t.Fatal(err)
	}
	defer none.Close()
	if begins(none, time.Minute) {
		t.Errorf("%s, where a terminal might be, has something to read", os.DevNull)
	}
}

func openPipe(t *testing.T) (in, from *os.File) {
	t.Helper()
	in, from, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { in.Close(); from.Close() })
	return in, from
}
