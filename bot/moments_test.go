package bot

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// TestTellNotesWhatStandsInTheWords: an instant that is told twice is listed
// once, and one whose words were left out not at all.
func TestTellNotesWhatStandsInTheWords(t *testing.T) {
	seven := time.Date(2026, 12, 1, 19, 0, 0, 0, time.FixedZone("", 3600))
	tells := &Command{Name: "tells", Run: func(_ context.Context, c *Call) (Reply, error) {
		c.Tell("not said", seven)
		c.Tell("at a quarter to seven", seven)
		long := strings.Repeat("and so on ", 7) + c.Tell("Tuesday 1 December 2026,  19:00 CET", seven)
		return Reply{Title: c.Tell("at seven", seven), Body: []Block{Paragraph(long), List{c.Tell("at seven", seven)}}}, nil
	}}
	got := ask(testDispatcher(tells), "tells")
	want := []Moment{{"Tuesday 1 December 2026,  19:00 CET", seven.UTC()}, {"at seven", seven.UTC()}}
	if diff := cmp.Diff(want, got.Moments); diff != "" {
		t.Error(diff)
	}
}
