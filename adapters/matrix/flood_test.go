package matrix

import (
	"testing"
	"time"

	"maunium.net/go/mautrix/event"
	"maunium.net/go/mautrix/id"
	"pgregory.net/rapid"
)

func asking(in id.RoomID, who id.UserID, at time.Time) incoming {
	return incoming{Event: &event.Event{Sender: who, Timestamp: at.UnixMilli()}, Room: room{ID: in}}
}

// TestFloods has one person ask too much: it is said once, and she is answered
// again when she has been quiet; others are not concerned.
func TestFloods(t *testing.T) {
	var f floods
	now := time.Date(2026, 12, 1, 19, 0, 0, 0, time.UTC)
	count := map[verdict]int{}
	for range 500 {
		count[f.admit(asking("!a", "@ada", now), now)]++
	}
	if count[floodNot] != floodMost || count[floodNews] != 1 {
		t.Errorf("answered %d, told %d times", count[floodNot], count[floodNews])
	}
	if f.admit(asking("!a", "@ben", now), now) != floodNot || f.admit(asking("!b", "@ada", now), now) != floodNot {
		t.Error("others are held to have asked too much")
	}
	for _, c := range []struct {
		after time.Duration
		want  verdict
	}{{time.Second, floodTold}, {10 * time.Second, floodTold}, {50 * time.Second, floodNot}} {
		if got := f.admit(asking("!a", "@ada", now.Add(c.after)), now.Add(c.after)); got != c.want {
			t.Errorf("%v later: %v, want %v", c.after, got, c.want)
		}
	}
}

// TestFloodsOfTheAbsent has someone ask 60 things over an hour while nobody
// answers, and one who says that she asks in the future.
func TestFloodsOfTheAbsent(t *testing.T) {
	var f floods
	now := time.Date(2026, 12, 1, 19, 0, 0, 0, time.UTC)
	for n := range 600 {
		if f.admit(asking("!a", "@ada", now.Add(time.Duration(n-600)*6*time.Second)), now) != floodNot {
			t.Fatalf("request %d was left out", n)
		}
	}
	for range 1000 {
		f.admit(asking("!a", "@eve", now.Add(1000*time.Hour)), now)
	}
	if f.admit(asking("!a", "@eve", now.Add(2000*time.Hour)), now) == floodNot {
		t.Error("a clock that is wrong is no way around the bound")
	}
}

// TestFloodsBound holds that no one is answered more often than the bounds say,
// whatever the times that events claim, and that the table does not grow for ever.
func TestFloodsBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var f floods
		now := time.Date(2026, 12, 1, 19, 0, 0, 0, time.UTC)
		start, answered := now, 0
		for range rapid.IntRange(1, 400).Draw(t, "requests") {
			now = now.Add(time.Duration(rapid.IntRange(0, 3000).Draw(t, "pause in ms")) * time.Millisecond)
			claimed := now.Add(time.Duration(rapid.IntRange(-3600, 3600).Draw(t, "claimed in s")) * time.Second)
			if f.admit(asking("!a", "@ada", claimed), now) == floodNot {
				answered++
			}
		}
		// A first event that claims to be an hour old gives an hour's worth at most.
		if most := floodMost + floodRefill*(now.Sub(start).Seconds()+3600) + 1; float64(answered) > most {
			t.Errorf("%d were answered, at most %v should be", answered, most)
		}
	})
	var f floods
	now := time.Date(2026, 12, 1, 19, 0, 0, 0, time.UTC)
	for n := range 3 * maxFloods {
		f.admit(asking("!a", id.UserID(time.Duration(n).String()), now), now)
	}
	if len(f.each) > maxFloods {
		t.Errorf("%d people are counted", len(f.each))
	}
}
