package timetable

import (
	"slices"
	"testing"
)

// TestPlacesCanBeWritten: whatever is suggested for a zone is read as one.
func TestPlacesCanBeWritten(t *testing.T) {
	places := Places()
	for _, p := range places {
		if _, err := Zone(p); err != nil {
			t.Errorf("%s: %v", p, err)
		}
	}
	for _, want := range []string{"Berlin", "Lisbon", "Aachen", "America/New_York", "New York"} {
		if !slices.Contains(places, want) {
			t.Errorf("%s is not among %d", want, len(places))
		}
	}
	seen := map[string]bool{}
	for _, p := range places {
		if seen[p] {
			t.Errorf("%s is there twice", p)
		}
		seen[p] = true
	}
}
