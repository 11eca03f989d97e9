package lace

import (
	"cmp"
	"slices"
)

// sameMistake is what makes two mistakes one cause, wherever they were made.
type sameMistake struct {
	kind    MistakeKind
	by      int
	two     bool
	andKind MistakeKind // of the second of two
	andBy   int
}

// sum is the weight of one cause over all places.
type sum struct {
	weight  float64
	groups  map[int]*inGroup
	counted []counted
	all     []Mistake
}

// inGroup is the weight of one cause in one group.
type inGroup struct {
	weight  float64
	example Mistake // the likeliest, the first of equals
	highest float64 // its weight
}

// likeliest is the group with the highest weight, the first of equals.
func (s *sum) likeliest() *inGroup {
	var best *inGroup
	for _, g := range s.groups {
		if best == nil || g.weight > best.weight*(1+1e-9) || g.weight > best.weight*(1-1e-9) && g.example.Group < best.example.Group {
			best = g
		}
	}
	return best
}

// counted is so many places of a weight.
type counted struct {
	weight float64
	times  int
}

// places are those that are not much less likely than the likeliest.
func (s *sum) places() (n int) {
	highest := 0.0
	for _, c := range s.counted {
		highest = max(highest, c.weight)
	}
	for _, c := range s.counted {
		if c.weight > highest/4 {
			n += c.times
		}
	}
	return n
}

// add adds the weight of a mistake at so many places just like this one.
func (f *finder) add(same sameMistake, m Mistake, weight float64, times int) {
	if weight <= 0 {
		return
	}
	s := f.sums[same]
	if s == nil {
		s = &sum{groups: map[int]*inGroup{}}
		f.sums[same] = s
	}
	s.weight += weight * float64(times)
	s.all = append(s.all, m)
	s.counted = append(s.counted, counted{weight, times})
	g := s.groups[m.Group]
	if g == nil {
		g = &inGroup{}
		s.groups[m.Group] = g
	}
	g.weight += weight * float64(times)
	if weight > g.highest*(1+1e-9) {
		g.highest, g.example = weight, m
	}
}

// causes sorts what was added up.
func (f *finder) causes() []Cause {
	var all []Cause
	total := 0.0
	for same, s := range f.sums {
		total += s.weight
		likeliest := s.likeliest()
		c := Cause{Mistake: Mistake{Kind: same.kind, By: same.by}, all: s.all, Places: s.places(), Example: likeliest.example, Share: s.weight}
		if same.two {
			c.And = &Mistake{Kind: same.andKind, By: same.andBy}
		}
		if c.Places == 1 && c.Kind != WarpCount || likeliest.weight > mostly*s.weight {
			c.Group = c.Example.Group
		}
		if c.Places == 1 {
			c.Step, c.Stays = c.Example.Step, c.Example.Stays
		}
		all = append(all, c)
	}
	slices.SortFunc(all, func(a, b Cause) int {
		return cmp.Or(cmp.Compare(b.Share, a.Share), cmp.Compare(a.Kind, b.Kind), cmp.Compare(b.By, a.By), and(a, b))
	})
	for i := range all {
		all[i].Share /= total
	}
	return all
}

// mostly is the share from which one group is named for a cause.
const mostly = 0.45

// and orders causes of two by the second.
func and(a, b Cause) int {
	if a.And == nil || b.And == nil {
		return 0
	}
	return cmp.Or(cmp.Compare(a.And.Kind, b.And.Kind), cmp.Compare(b.And.By, a.And.By))
}
