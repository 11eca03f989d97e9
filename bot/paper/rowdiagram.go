package paper

import (
	"fmt"
	"slices"

	"weftroom/calc/lace"
)

// RowDiagram is a picture of one row as it is worked: the weft's own path through
// the groups of a student's warp, its moves numbered as in the text.
//
// It lies as the work does before her. A row that is too wide for a phone is
// shown in two strips, the edge where it begins and the edge where it ends.
type RowDiagram struct {
	Plan  *lace.Plan
	Row   int // from 1
	Words RowWords
}

// RowWords are the words on a row diagram; what is empty is left out.
type RowWords struct {
	Title string
	Begin string                              // over the edge where the row begins
	End   string                              // over the edge where it ends
	Moves func(move int) string               // the short form of a move, from 1, without its number
	Group func(ends int) string               // under a group
	More  func(groups int, alike bool) string // between the two strips: so many groups are left out; alike when all are of the size of the one before them
	Picks func(passes int) string             // across a strip: so many passes of each group are left out
	Shed  [3]string                           // legend, by lace.Shed
	Hole  string                              // legend
	Drop  string                              // legend: the slant in a hole
	Loop  string                              // legend: the turn at a selvedge
	Notes []string
}

const (
	rowPitch    = 8.6  // points from end to end in an open group, as a rule
	leastPitch  = 6.6  // where that brings the whole row into one strip
	mostPitch   = 11.0 // of a narrow warp
	rowGap      = 40.0 // of a hole, at least
	rowLevel    = 20.0 // from pass to pass
	rowStub     = 2    // ends of the next group before the row is torn off
	wholeGroup  = 16   // ends of a group that is shown whole
	partGroup   = 6    // ends at each side of a wider one
	rowBreak    = 30.0 // room where ends are left out
	wholePasses = 7    // passes that are shown all
	badgeHigh   = 15.0
)

// Sheet draws the picture. Its error is ours: a row that the plan does not have,
// or one that cannot be woven.
func (r RowDiagram) Sheet() (*Sheet, error) {
	w, err := r.work()
	if err != nil {
		return nil, err
	}
	s := NewSheet(phoneWidth, 0)
	col := &column{s: s, x: margin, w: phoneWidth - 2*margin, y: margin - 4, lines: 4}
	col.para(r.Words.Title, sizeTitle, Bold, Black)
	col.skip(4)
	strips, left := w.strips()
	for i, st := range strips {
		if i > 0 && r.Words.More != nil && left > 0 {
			col.skip(2)
			col.para("…  "+r.Words.More(left, w.alike(len(strips[0].groups), left)), sizeText, Italic, Black)
			col.skip(4)
		}
		st.draw(col)
	}
	r.legend(col)
	s.H = col.y + margin - 4
	return s, nil
}

// Whole tells whether the picture will show every group and every pass of the row.
// It weaves nothing: a plan's groups are where the weft turns, or it is none.
func (r RowDiagram) Whole() bool {
	d := r.Plan.Design
	if r.Row < 1 || r.Row > len(r.Plan.Rows) || d.Passes > wholePasses {
		return false
	}
	w := &rowWork{RowDiagram: r, badge: badgeWide(len(r.Plan.Rows[r.Row-1].Moves))}
	at := 0
	for _, ends := range d.GroupEnds(r.Row - 1) {
		if ends > wholeGroup {
			return false
		}
		w.groups = append(w.groups, span{at, at + ends})
		at += ends
	}
	near, far := w.share()
	return near+far == len(w.groups)
}

// span is a run of ends by its boundaries, low < high.
type span struct{ low, high int }

func (g span) ends() int { return g.high - g.low }

// rowWork is one row on its way to a sheet.
type rowWork struct {
	RowDiagram
	row    lace.Row
	in     *lace.Interlacing
	groups []span  // in working order
	badge  float64 // width of the widest number
	pitch  float64 // from end to end in an open group
}

func (r RowDiagram) work() (*rowWork, error) {
	if r.Row < 1 || r.Row > len(r.Plan.Rows) {
		return nil, fmt.Errorf("row %d of a plan of %d", r.Row, len(r.Plan.Rows))
	}
	row := r.Plan.Rows[r.Row-1]
	in, err := lace.Interlace(r.Plan.Design.Ends, row.Start, []lace.Row{row})
	if err != nil {
		return nil, err
	}
	w := &rowWork{RowDiagram: r, row: row, in: in, badge: badgeWide(len(row.Moves))}
	w.groups = groupsOf(in)
	return w, nil
}

// groupsOf are the groups as the weaver made them: from one boundary that is
// open at the foot of the row to the next, in working order.
func groupsOf(in *lace.Interlacing) []span {
	var groups []span
	from := 0
	for b := 1; b <= in.Ends; b++ {
		if b == in.Ends || !in.Tied(b, 0) {
			groups = append(groups, span{from, b})
			from = b
		}
	}
	if in.From == lace.Left {
		slices.Reverse(groups)
	}
	return groups
}

// strips shares the groups out: all in one strip where there is room, else on two,
// the first groups and the last. It tells how many groups are on neither.
func (w *rowWork) strips() (strips []*strip, left int) {
	n := len(w.groups)
	near, far := w.share()
	strips = []*strip{w.strip(0, near, w.Words.Begin)}
	if far > 0 {
		strips = append(strips, w.strip(n-far, n, w.Words.End))
	}
	return strips, n - far - near
}

// share is how many groups the first strip has and how many the second: none where
// there is room for all in one, else as many as there is room for from both ends of
// the row. It sets how far apart the ends are.
func (w *rowWork) share() (near, far int) {
	n := len(w.groups)
	room := phoneWidth - 2*margin - 2*w.edge()
	w.pitch = 1
	ends, breaks := 0.0, float64(n-1)*w.gap()
	for i, g := range w.groups {
		ends += w.openWide(i)
		if g.ends() > wholeGroup {
			ends, breaks = ends-rowBreak, breaks+rowBreak
		}
	}
	if pitch := (room - breaks) / ends; pitch >= leastPitch {
		w.pitch = min(pitch, mostPitch)
		return n, 0
	}
	w.pitch = rowPitch
	room = phoneWidth - 2*margin - w.edge() - rowStub*rowPitch - w.gap()/2
	near, far = w.fit(room, 0, 1), w.fit(room, n-1, -1)
	if near+far > n {
		near = min(near, (n+1)/2)
		far = n - near
	}
	return near, far
}

// thread is how wide threads are, in points.
func (w *rowWork) thread() float64 { return 0.54 * w.pitch }

// fit is how many groups, from one onward, there is room for; one at least.
func (w *rowWork) fit(room float64, from, step int) int {
	n := 0
	for i := from; i >= 0 && i < len(w.groups) && (room >= w.wide(i) || n == 0); i += step {
		room -= w.wide(i)
		n++
	}
	return n
}

// alike tells whether some groups have the size of the one before the first of them.
func (w *rowWork) alike(from, count int) bool {
	for _, g := range w.groups[from : from+count] {
		if g.ends() != w.groups[from-1].ends() {
			return false
		}
	}
	return true
}

// gap is how wide holes are: two numbers stand in each, one aside and above the
// other.
func (w *rowWork) gap() float64 { return max(rowGap, 1.3*w.badge+20) }

// edge is the room beside a selvedge, for loops and numbers.
func (w *rowWork) edge() float64 { return w.badge + 14 }

// wide is the room that a group takes, half of the holes beside it included.
func (w *rowWork) wide(i int) float64 {
	wide := w.openWide(i)
	if i > 0 {
		wide += w.gap() / 2
	}
	if i < len(w.groups)-1 {
		wide += w.gap() / 2
	}
	return wide
}

// openWide is the room that the ends of a group take where its holes are open.
func (w *rowWork) openWide(i int) float64 {
	n := w.groups[i].ends()
	if n > wholeGroup {
		return 2*partGroup*w.pitch + rowBreak
	}
	return float64(n) * w.pitch
}
