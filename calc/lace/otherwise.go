package lace

// Not every weaver does as she is told. Where a forward pass comes to the selvedge
// before its count is made, some go on; and in the far group some go back to the
// last hole that they see, whatever the count. What they come to is followed
// apart from what a weaver comes to who stops and goes by her counts.

// How weavers go through the far group (our judgement, no source). Most go back by
// their counts, some to the last hole that they see. Where a forward pass comes to
// the selvedge before its count is made, most stop there and say by how much.
const (
	byCount, byHole                = 0.7, 0.3
	stops, thenByHole, thenByCount = 0.6, 0.3, 0.1
)

// unsaid is how likely someone who tells what she sees in a group has not come
// to a wrong count yet, or does not speak of it (the same).
const unsaid = 0.4

// otherwise is how likely someone who does not do as she is told says what is said
// after a slip. Who says at which move she is has stopped there.
func (f *finder) otherwise(s slip) float64 {
	if f.seen.Move > 0 || f.looksElsewhere(s.Group-1) {
		return 0
	}
	out, after := f.course.comesOut(s, f.memo)
	if !out.made {
		return 0
	}
	chance := f.fits(out)
	if chance > 0 && f.seen.Sees != NothingSeen {
		chance *= f.shows(s, after)
	}
	return chance
}

// looksElsewhere tells of a group so far from the one that she looks at that no
// slip in it shows there.
func (f *finder) looksElsewhere(g int) bool {
	return f.seen.Group > 0 && !f.isNear(g) && (!f.isFar() || g >= f.seen.Group)
}

// fits is how likely she says what she says, and has not done as she was told, when
// a row came out so.
func (f *finder) fits(out outcome) float64 {
	o := f.seen
	if o.Move > 0 {
		return 0
	}
	count, hole := 0.0, byHole
	if out.short > 0 {
		count, hole = thenByCount, thenByHole
	}
	left := f.expected()
	switch {
	case o.HasLeft:
		left = o.Left
	case o.Short > 0:
		left -= o.Short
	}
	chance := 0.0
	for _, way := range []struct {
		does float64
		left int
	}{{count, out.left}, {hole, out.seen}} {
		switch {
		case way.left == left:
			chance += way.does
		case !o.Counted():
			chance += way.does * unsaid
		}
	}
	return chance
}
