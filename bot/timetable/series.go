package timetable

import "time"

// Weekly is a series of n meetings, one a week from first on, in the zone of
// the class. The civil time is the same in each, so the hour on the wall stays
// across clock changes, and each is resolved by itself.
func Weekly(first Wall, n int, loc *time.Location) []When {
	out := make([]When, 0, max(n, 0))
	for i := range n {
		w := first.AddDays(7 * i)
		t, how := Resolve(w, loc)
		out = append(out, When{Wall: w, Time: t, How: how})
	}
	return out
}
