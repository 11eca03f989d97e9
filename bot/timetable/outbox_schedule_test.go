package timetable_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"weftroom/bot/class"
	"weftroom/bot/timetable"
)

// schedule adds the teacher's routine post, as the command does.
func (c *course) schedule(spec string) class.Schedule {
	c.t.Helper()
	var s class.Schedule
	c.ok(c.db.Tx(c.t.Context(), func(ctx context.Context) (err error) {
		s, err = c.db.AddSchedule(ctx, class.Schedule{
			Class: c.class.ID, Spec: spec, Zone: c.class.Zone, Text: "bring yarn", To: room, Made: c.o.Now(),
		})
		return errors.Join(err, c.planner.Schedule(ctx, s))
	}))
	return s
}

func TestSchedule(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		s := c.schedule("mon 9:00")
		end := c.begin()
		c.sleep(15 * day)
		want := "bring yarn@03T08:00 bring yarn@10T08:00"
		c.wantSent("", want)
		end()
		c.sleep(3 * day) // the 17th is missed by more than half a day
		defer c.begin()()
		c.sleep(7 * day)
		want += " bring yarn@24T08:00"
		c.wantSent("", want)
		c.wantSkipped(timetable.Skip{Kind: timetable.KindSay, Reason: timetable.Stale, Posts: 1})
		s.Ended = c.o.Now()
		c.ok(c.db.PutSchedule(t.Context(), s))
		c.sleep(14 * day)
		c.wantSent("", want)
	})
}

// TestScheduleThroughRestarts ends and begins everything once an hour.
func TestScheduleThroughRestarts(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		c.schedule("30 * * * *")
		for range 24 {
			end := c.begin()
			c.sleep(31 * time.Minute)
			end()
			c.sleep(29 * time.Minute)
		}
		if got := strings.Fields(c.shown("a")); len(got) != 48 { // two words each
			t.Errorf("%d of 24 firings: %v", len(got)/2, got)
		}
	})
}

// TestPlanningWithAWrongClock has the clock run a year ahead for a while.
func TestPlanningWithAWrongClock(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		c.schedule("daily 9:00")
		c.session(3 * day)
		defer c.begin()()
		c.sleep(9 * time.Hour)
		c.o.MaxSleep = time.Minute
		c.wrong(365 * day)
		c.sleep(2 * time.Minute)
		c.wrong(0)
		c.sleep(5*day - 9*time.Hour - 2*time.Minute)
		var days []string
		for _, w := range strings.Fields(c.shown("a")) {
			if at, ok := strings.CutPrefix(w, "yarn@"); ok {
				days = append(days, at)
			}
		}
		// That of 31 December went out when the clock said so, and none is missing.
		if want := []string{"01T08:00", "31T09:01", "02T08:00", "03T08:00", "04T08:00", "05T08:00"}; !slices.Equal(days, want) {
			t.Errorf("the routine post came at %v, want %v", days, want)
		}
		c.wantSent("ada", "1d@03T00:00 1h@03T23:00 start@04T00:00 after@04T01:30")
	})
}

func TestClockSetBackWhilePlanning(t *testing.T) {
	atCourse(t, func(t *testing.T, c *course) {
		c.schedule("0 * * * *")
		defer c.begin()()
		c.sleep(5*time.Hour + time.Minute)
		c.wrong(-3 * time.Hour) // the clock shows 2:01 again
		c.sleep(6 * time.Hour)  // until it shows 8:01
		got := c.shown("a")
		for h := 1; h <= 8; h++ {
			if n := strings.Count(got, fmt.Sprintf("01T%02d:00", h)); n != 1 {
				t.Errorf("the post of %d:00 was sent %d times: %s", h, n, got)
			}
		}
	})
}
