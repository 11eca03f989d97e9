package lace

import (
	"cmp"
	"slices"
)

// sameMistake is what makes two mistakes one cause, wherever they were made and
// by how much: she will see that when she counts.
type sameMistake struct {
	kind    MistakeKind
	two     bool
	andKind MistakeKind // of the second of two
}

// sum is the weight of one cause over all places.
type sum struct {
	weight  float64
	groups  map[int]*inGroup
	by      map[[2]int]float64 // how much, of the first and of the second
	counted []counted
}

// mostBy is by how much it most likely is.
func (s *sum) mostBy() (by [2]int) {
	for b, weight := range s.by {
		if weight > s.by[by]*(1+1e-9) || weight > s.by[by]*(1-1e-9) && cmp.Or(cmp.Compare(b[0], by[0]), cmp.Compare(b[1], by[1])) > 0 {
			by = b
		}
	}
	return by
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

// outermost are examples in the first and the last group.
func (s *sum) outermost() []Mistake {
	var first, last *inGroup
	for _, g := range s.groups {
		if first == nil || g.example.Group < first.example.Group {
			first = g
		}
		if last == nil || g.example.Group > last.example.Group {
			last = g
		}
	}
	return []Mistake{first.example, last.example}
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
func (f *finder) add(same sameMistake, m Mistake, andBy int, weight float64, times int) {
	if weight <= 0 {
		return
	}
	s := f.sums[same]
	if s == nil {
		s = &sum{groups: map[int]*inGroup{}, by: map[[2]int]float64{}}
		f.sums[same] = s
	}
	s.weight += weight * float64(times)
	s.by[[2]int{m.By, andBy}] += weight * float64(times)
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

// causes sorts what was added up and leaves out what is hardly possible.
func (f *finder) causes() []Cause {
	var all []Cause
	total := 0.0
	for same, s := range f.sums {
		total += s.weight
		likeliest, by := s.likeliest(), s.mostBy()
		c := Cause{Mistake: Mistake{Kind: same.kind, By: by[0]}, Places: s.places(), Example: likeliest.example, Share: s.weight}
		if same.two {
			c.And = &Mistake{Kind: same.andKind, By: by[1]}
		}
		c.others = s.outermost()
		if c.Places == 1 && c.Kind != WarpCount || likeliest.weight > mostly*s.weight {
			c.Group = c.Example.Group
		}
		if c.Places == 1 {
			c.Step, c.Stays = c.Example.Step, c.Example.Stays
		}
		all = append(all, c)
	}
	slices.SortFunc(all, func(a, b Cause) int {
		return cmp.Or(cmp.Compare(b.Share, a.Share), cmp.Compare(a.Kind, b.Kind), cmp.Compare(and(a), and(b)))
	})
	if len(all) > 3 {
		least := min(hardly*total, all[2].Share)
		all = slices.DeleteFunc(all, func(c Cause) bool { return c.Share < least })
	}
	kept := 0.0
	for _, c := range all {
		kept += c.Share
	}
	for i := range all {
		all[i].Share /= kept
	}
	return all
}

// mostly is the share from which one group is named for a cause, hardly the one
// below which a cause is not named at all.
const (
	mostly = 0.45
	hardly = 0.005
)

func and(c Cause) int {
	if c.And == nil {
		return -1
	}
	return int(c.And.Kind)
}
