package lace

import (
	"cmp"
	"maps"
	"slices"
)

// sameMistake is what makes two mistakes one cause, wherever they were made. A
// warp that is not as told is one, by however many ends: it is counted anew.
type sameMistake struct {
	kind    MistakeKind
	by      int
	two     bool
	andKind MistakeKind // of the second of two
	andBy   int
}

// sum is the weight of one cause over all places: of those at which it gives what
// is seen to one who does as she is told, and of those at which it gives it to others.
type sum struct{ told, others places }

// places is the weight of one cause over some of its places.
type places struct {
	weight  float64
	groups  map[int]*inGroup
	counted []counted
	all     []Mistake
	ends    map[int]float64 // of a warp, by how many it has more
}

// inGroup is the weight of one cause in one group.
type inGroup struct {
	weight  float64
	example Mistake // the likeliest, the first of equals
	highest float64 // its weight
}

// counted is so many places of a weight.
type counted struct {
	weight float64
	times  int
}

// likeliest is the group with the highest weight, the first of equals.
func (p *places) likeliest() *inGroup {
	var best *inGroup
	for _, g := range p.groups {
		if best == nil || g.weight > best.weight*(1+1e-9) || g.weight > best.weight*(1-1e-9) && g.example.Group < best.example.Group {
			best = g
		}
	}
	return best
}

// count is how many places are not much less likely than the likeliest.
func (p *places) count() (n int) {
	highest := 0.0
	for _, c := range p.counted {
		highest = max(highest, c.weight)
	}
	for _, c := range p.counted {
		if c.weight > highest/4 {
			n += c.times
		}
	}
	return n
}

func (p *places) add(m Mistake, weight float64, times int) {
	if p.groups == nil {
		p.groups, p.ends = map[int]*inGroup{}, map[int]float64{}
	}
	p.weight += weight * float64(times)
	p.all = append(p.all, m)
	p.counted = append(p.counted, counted{weight, times})
	if m.Kind == WarpCount {
		p.ends[m.By] += weight
	}
	g := p.groups[m.Group]
	if g == nil {
		g = &inGroup{}
		p.groups[m.Group] = g
	}
	g.weight += weight * float64(times)
	if weight > g.highest*(1+1e-9) {
		g.highest, g.example = weight, m
	}
}

// add adds the weight of a mistake at so many places just like this one, of one
// who does as she is told or of others.
func (f *finder) add(same sameMistake, m Mistake, told, others float64, times int) {
	if told <= 0 && others <= 0 {
		return
	}
	s := f.sums[same]
	if s == nil {
		s = &sum{}
		f.sums[same] = s
	}
	if told > 0 {
		s.told.add(m, told, times)
	}
	if others > 0 {
		s.others.add(m, others, times)
	}
}

// exact tells whether any cause gives what is seen to one who does as she is told.
func (f *finder) exact() bool {
	for _, s := range f.sums {
		if s.told.weight > 0 {
			return true
		}
	}
	return false
}

// causes sorts what was added up.
func (f *finder) causes() []Cause {
	var all []Cause
	for same, s := range f.sums {
		all = append(all, s.cause(same))
	}
	slices.SortFunc(all, func(a, b Cause) int {
		return cmp.Or(cmp.Compare(b.Share, a.Share), cmp.Compare(a.Kind, b.Kind), cmp.Compare(b.By, a.By), and(a, b))
	})
	if slices.ContainsFunc(all, func(c Cause) bool { return !c.Near }) {
		least := leastNear * shares(all)
		all = slices.DeleteFunc(all, func(c Cause) bool { return c.Near && c.Share < least })
	}
	total := shares(all)
	for i := range all {
		all[i].Share /= total
	}
	return all
}

// shares is what causes have together, summed in their order, so that it is the same
// each time.
func shares(all []Cause) (total float64) {
	for _, c := range all {
		total += c.Share
	}
	return total
}

// leastNear is the share from which a cause is named that does not give exactly
// what is seen, beside others that do (our judgement, no source).
const leastNear = 0.02

// cause puts a sum into words. Where it stands and what is done about it is told of
// the places at which it gives what is seen exactly, if there are any.
func (s *sum) cause(same sameMistake) Cause {
	own := &s.told
	if own.weight == 0 {
		own = &s.others
	}
	c := Cause{
		Mistake: Mistake{Kind: same.kind, By: same.by}, Near: s.told.weight == 0, all: own.all,
		Places: own.count(), Example: own.likeliest().example, Share: s.told.weight + s.others.weight,
	}
	if same.two {
		c.And = &Mistake{Kind: same.andKind, By: same.andBy}
	}
	if c.Kind == WarpCount {
		return c.ofWarp(own)
	}
	if elsewhere := s.elsewhere(); own == &s.told && elsewhere.weight*2 > s.told.weight+s.others.weight {
		if c.IfTold.Group = mostlyIn(s.told); c.Places == 1 {
			c.IfTold = c.Example
		}
		c.Elsewhere = true
		c.Places += elsewhere.count()
	}
	if c.Places == 1 {
		c.Group, c.Step, c.Stays = c.Example.Group, c.Example.Step, c.Example.Stays
	} else if g := mostlyIn(s.told, s.others); g > 0 {
		c.Group = g
		if same := own.groups[g]; same != nil {
			c.Example = same.example
		}
	}
	return c
}

// ofWarp is the cause that the warp has another number of ends: the likeliest, and
// the others that give it too.
func (c Cause) ofWarp(own *places) Cause {
	by := slices.SortedFunc(maps.Keys(own.ends), func(a, b int) int {
		return cmp.Or(cmp.Compare(own.ends[b], own.ends[a]), cmp.Compare(b, a))
	})
	c.By, c.Else, c.Places = by[0], by[1:], 1
	c.Example = Mistake{Kind: WarpCount, By: c.By}
	c.all = []Mistake{c.Example}
	return c
}

// WarpBy are the numbers by which the ends of a warp may be other than told,
// likeliest first; none for a slip.
func (c Cause) WarpBy() []int {
	if c.Kind != WarpCount {
		return nil
	}
	return append([]int{c.By}, c.Else...)
}

// elsewhere are the places at which only others would come to what is seen.
func (s *sum) elsewhere() (p places) {
	told := map[Mistake]bool{}
	for _, m := range s.told.all {
		told[m] = true
	}
	for i, m := range s.others.all {
		if !told[m] {
			p.add(m, s.others.counted[i].weight, s.others.counted[i].times)
		}
	}
	return p
}

// mostlyIn is the group in which a cause lies by most of its weight, 0 for none.
func mostlyIn(all ...places) int {
	in, total := map[int]float64{}, 0.0
	for _, p := range all {
		total += p.weight
		for g, w := range p.groups {
			in[g] += w.weight
		}
	}
	best := 0
	for g, w := range in {
		if w > mostly*total && (best == 0 || w > in[best] || w == in[best] && g < best) {
			best = g
		}
	}
	return best
}

// mostly is the share from which one group is named for a cause: likelier there than
// anywhere else (our judgement, no source).
const mostly = 0.5

// and orders causes of two by the second.
func and(a, b Cause) int {
	if a.And == nil || b.And == nil {
		return 0
	}
	return cmp.Or(cmp.Compare(a.And.Kind, b.And.Kind), cmp.Compare(b.And.By, a.And.By))
}
