package lace

import (
	"cmp"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

var (
	studyRows  = flag.Int("study", 0, "rows that are woven for the study of miscounts, for each kind of weaver; rewrites its page")
	studySeeds = [2]uint64{11153728, 4} // of the page: drawn after the last change to the search, and looked at once
	testSeeds  = [2]uint64{1931, 7}     // of an ordinary run of the tests
)

const studyPage = "../../testdata/miscounts/README.md"

// byTheModel errs as the ranking supposes, and stops and counts as she is told to.
var byTheModel = erring{
	perEnd: 1 * slipChance, offByTwo: 0.06, backShort: 0.5 * slipChance, backLong: 0.3 * slipChance, shed: 1.2 * slipChance,
	lostTrip: 0.8 * slipChance, lostPass: 0.2 * slipChance, extraPass: 0.1 * slipChance, warpOne: 15 * slipChance, warpTwo: 8 * slipChance,
	readsSheds: 0.5, stops: 1, oneGroupOut: 0.12, wrongName: 0.05, looks: 1, saysMove: 0.5,
}

// otherwise errs as the ranking does not suppose: the shed is forgotten twice as
// often, slips come in bursts, she goes on where the others stop, and she is
// less sure of what she sees and where.
var otherwise = func() erring {
	e := byTheModel
	e.shed *= 2
	e.bursts, e.burst = 0.3, 12
	e.readsSheds, e.byHole, e.stops, e.thenByHole = 0.3, 0.45, 0.4, 0.6
	e.oneGroupOut, e.wrongName, e.saysMove = 0.2, 0.12, 0.25
	return e
}()

// score counts cases.
type score struct{ cases, first, two, three, alike, none int }

func (s *score) add(rank int, alike bool) {
	s.cases++
	if rank < 1 {
		s.first++
	}
	if rank < 2 {
		s.two++
	}
	if rank < 3 {
		s.three++
	}
	if alike {
		s.alike++
	}
	if rank >= notNamed {
		s.none++
	}
}

const notNamed = 1000

// study is what became of many rows.
type study struct {
	rows, good, noticed, unseen int
	single, several             int   // rows with one slip, with more
	counted, looked             score // of rows with one slip
	countedNumber, lookedNumber score // the same, where the first number of ends that is named must be right
	severalCounted              score // of rows with several
	byKind                      map[MistakeKind]*score
	found                       []Cause // in the row just asked about
}

// studied weaves rows by one kind of weaver and asks for the causes.
func studied(t testing.TB, e erring, rows int, seeds [2]uint64) *study {
	r := rand.New(rand.NewPCG(seeds[0], seeds[1]))
	s := &study{byKind: map[MistakeKind]*score{}}
	for s.rows < rows {
		p := studyPlan(t, r)
		number := 1 + r.IntN(len(p.Rows))
		alike := alikeSlips(p, number)
		for range 400 {
			s.row(t, r, e, p, number, alike)
		}
	}
	return s
}

// studyPlan is a plan as a course has them: 3 passes mostly, small groups.
func studyPlan(t testing.TB, r *rand.Rand) *Plan {
	for {
		ask := Pattern{
			Ends: 40 + r.IntN(160), Raised: 2 + r.IntN(4), Passes: []int{3, 3, 3, 3, 5, 7}[r.IntN(6)], Way: Way(r.IntN(2)),
			From: Side(r.IntN(2)), Rows: 1 + r.IntN(3), Leftover: Leftover(r.IntN(2)), Repeat: Repeat(r.IntN(2)), Edge: max(0, r.IntN(5)-2),
		}
		d, err := ask.Design()
		if err != nil {
			continue
		}
		p, err := Make(d)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
}

// row weaves one row and scores what the search says of it.
func (s *study) row(t testing.TB, r *rand.Rand, e erring, p *Plan, number int, alike map[string][]MistakeKind) {
	s.rows++
	l, slips, out := weaveErring(r, e, p, number, nil)
	switch {
	case len(slips) == 0:
		s.good++
		return
	case out.noticed && out.short == 0:
		s.noticed++
		return
	}
	good, _, _ := weaveErring(r, erring{readsSheds: 1}, p, number, []slipped{})
	if out.short == 0 { // who stopped in mid-row has no whole row to look at
		l.looksAt(good, p.Rows[number-1], sizesOf(p, number), &out)
	}
	counted := out.left >= 0 || out.short > 0
	if !counted && out.sees == NothingSeen {
		s.unseen++
		return
	}
	if len(slips) == 1 {
		s.single++
	} else {
		s.several++
	}
	o := Observation{Row: number, HasLeft: out.left >= 0, Left: max(out.left, 0), Short: out.short}
	if out.short > 0 && r.Float64() < e.saysMove {
		o.Move = out.move
	}
	if counted {
		rank, same := s.rank(t, p, o, l, slips, alike)
		if len(slips) > 1 {
			s.severalCounted.add(rank, same)
			return
		}
		s.counted.add(rank, same)
		s.countedNumber.add(s.rankOfNumber(rank, slips[0]), same)
	}
	if len(slips) > 1 {
		return
	}
	if out.sees != NothingSeen {
		o.Group, o.Sees = out.group, out.sees
	}
	rank, same := s.rank(t, p, o, l, slips, alike)
	s.looked.add(rank, same)
	s.lookedNumber.add(s.rankOfNumber(rank, slips[0]), same)
	k := s.byKind[slips[0].kind]
	if k == nil {
		k = &score{}
		s.byKind[slips[0].kind] = k
	}
	k.add(rank, same)
}

// rank is the place of the true cause in the answer, from 0. It is there when
// its kind and by how much are those of the slip, or of a slip that leaves the
// very same passes; where a group is named, it must be the group. Two slips
// must both be named.
func (s *study) rank(t testing.TB, p *Plan, o Observation, l *atLoom, slips []slipped, alike map[string][]MistakeKind) (rank int, same bool) {
	d, err := Diagnose(p, o)
	if err != nil {
		t.Fatalf("%+v: %v", o, err)
	}
	s.found = d.Causes
	truths := alike[fmt.Sprint(l.ends, l.passes)]
	same = len(truths) > 1
	for i, c := range d.Causes {
		if len(slips) == 1 && c.And == nil && (c.is(slips[0]) || c.Group == 0 && slices.Contains(truths, c.Kind)) {
			return i, same
		}
		if len(slips) == 2 && c.And != nil && (c.has(slips[0], slips[1]) || c.has(slips[1], slips[0])) {
			return i, same
		}
	}
	return notNamed, same
}

func (c Cause) is(s slipped) bool {
	beside := c.Group - s.group
	return c.Kind == s.kind && (c.By == s.by || slices.Contains(c.Else, s.by)) && (c.Group == 0 || beside >= -1 && beside <= 1)
}

// rankOfNumber is a rank where the number of ends must be right: those that a cause
// names after its first come right after it. Causes behind it keep their places.
func (s *study) rankOfNumber(rank int, slip slipped) int {
	if slip.kind != WarpCount || rank >= notNamed {
		return rank
	}
	return rank + slices.Index(s.found[rank].WarpBy(), slip.by)
}

func (c Cause) has(a, b slipped) bool {
	return c.Kind == a.kind && c.And.Kind == b.kind
}

// alikeSlips are the slips of every kind by the passes that they leave, woven by
// the weavers of the study.
func alikeSlips(p *Plan, number int) map[string][]MistakeKind {
	alike := map[string][]MistakeKind{}
	r := rand.New(rand.NewPCG(1, 1))
	row := p.Rows[number-1]
	steps := len(row.Moves)
	if row.Moves[steps-1].Kind == HomePick {
		steps--
	}
	for step := 1; step < steps; step++ {
		long, short := GroupLong, GroupShort
		if row.Moves[step-1].Toward == row.Start {
			long, short = BackLong, BackShort
		}
		for _, slip := range []slipped{
			{kind: long, by: 1}, {kind: short, by: 1}, {kind: long, by: 2}, {kind: short, by: 2}, {kind: ShedNotChanged, by: 1},
			{kind: PassMissing, by: 1}, {kind: PassExtra, by: 1}, {kind: PassMissing, by: 2}, {kind: PassExtra, by: 2},
		} {
			if slip.step = step; slip.by == 2 && slip.kind >= PassMissing && step+2 > steps || (slip.kind == short && row.Moves[step-1].Under <= slip.by) {
				continue
			}
			for _, reads := range []float64{0, 1} {
				l, _, out := weaveErring(r, erring{readsSheds: reads}, p, number, []slipped{slip})
				key := fmt.Sprint(l.ends, l.passes)
				if !out.noticed && !slices.Contains(alike[key], slip.kind) {
					alike[key] = append(alike[key], slip.kind)
				}
			}
		}
	}
	return alike
}

// sizesOf are the ends of the groups of a row, in working order.
func sizesOf(p *Plan, number int) (sizes []int) {
	bounds := p.Design.bounds(number - 1)
	for i := range len(bounds) - 1 {
		sizes = append(sizes, bounds[i+1]-bounds[i])
	}
	return sizes
}

func percent(n, of int) string { return fmt.Sprintf("%.1f %%", 100*float64(n)/float64(max(of, 1))) }

func (s score) line(name string) string {
	return fmt.Sprintf("| %s | %d | %s | %s | %s | %s | %s |\n", name, s.cases, percent(s.first, s.cases), percent(s.two, s.cases),
		percent(s.three, s.cases), percent(s.none, s.cases), percent(s.alike, s.cases))
}

var kindNames = [...]string{
	GroupLong: "group_long", GroupShort: "group_short", BackLong: "back_long", BackShort: "back_short",
	ShedNotChanged: "shed_not_changed", PassMissing: "pass_missing", PassExtra: "pass_extra", WarpCount: "warp_count",
}

// page writes what was found.
func page(model, other *study, rows int) string {
	var b strings.Builder
	b.WriteString(pageHead)
	b.WriteString("| kind | by | for each | weight | why |\n|---|---|---|---|---|\n")
	for _, h := range Habits {
		fmt.Fprintf(&b, "| %s | %d | %s | %g | %s |\n", kindNames[h.Kind], h.By, [...]string{"raised end counted", "pass", "warp"}[h.Per], h.Weight, h.Reason)
	}
	b.WriteString("\n## What was found\n\n")
	fmt.Fprintf(&b, "`make study` weaves %d rows for each kind of weaver (seeds %d and %d, %d and %d).\n\n", rows, studySeeds[0], studySeeds[1], studySeeds[0], studySeeds[1]+1)
	for _, x := range []struct {
		name string
		s    *study
	}{{"Weavers who err by the model", model}, {"Weavers who err otherwise", other}} {
		fmt.Fprintf(&b, "### %s\n\n%d rows, of which %d without a slip. In %d the edge stopped the very pass that she miscounted, so that she saw the slip at once; %d left no sign (%s of the rows with a slip); "+
			"%d left a sign after one slip, %d after several.\n\n", x.name, x.s.rows, x.s.good, x.s.noticed, x.s.unseen,
			percent(x.s.unseen, x.s.rows-x.s.good), x.s.single, x.s.several)
		b.WriteString("| told | cases | first | in two | in three | not named | alike |\n|---|---:|---:|---:|---:|---:|---:|\n")
		b.WriteString(x.s.counted.line("the count alone"))
		b.WriteString(x.s.looked.line("all that she sees"))
		b.WriteString(x.s.countedNumber.line("the count alone, each number of ends by itself"))
		b.WriteString(x.s.lookedNumber.line("all that she sees, each number of ends by itself"))
		fmt.Fprintf(&b, "\nRows with several slips, told by the count alone: %d, of which %s had both named first, %s in three.\n", x.s.severalCounted.cases, percent(x.s.severalCounted.first, x.s.severalCounted.cases), percent(x.s.severalCounted.three, x.s.severalCounted.cases))
		b.WriteString("\nAll that she sees, by kind:\n\n| kind | cases | first | in two | in three | not named | alike |\n|---|---:|---:|---:|---:|---:|---:|\n")
		kinds := []MistakeKind{}
		for k := range x.s.byKind {
			kinds = append(kinds, k)
		}
		slices.SortFunc(kinds, func(a, b MistakeKind) int { return cmp.Compare(a, b) })
		for _, k := range kinds {
			b.WriteString(x.s.byKind[k].line(kindNames[k]))
		}
		b.WriteString("\n")
	}
	return b.String()
}

const pageHead = `# How far the causes of a miscount can be trusted

Written by ` + "`make study`" + `; the code is calc/lace/study_test.go.

A weaver of the study weaves a row from its plan and errs by chance. She then says what she sees: the raised ends left
in the last forward pass when they are not what the plan says, or by how many a count cannot be made (and some say at
which move), and the first group in which the cloth does not look right. The search for causes is asked with that alone, and we look where in its
answer the truth stands.

How the rows are counted. These definitions, the weights below and the second weaver were written while early figures
were being looked at, and the search was changed several times after earlier figures of this page; so they are no blind
test. The seeds of this page were drawn after the last change to the search, and used once.

- A case is a row with at least one slip that leaves a sign. A row that comes out, and in which nothing is to be seen,
  is counted as "left no sign"; nobody asks about it.
- The truth is found when a cause has its kind and, where a group is named, lies in that group or in one beside it, where
  she is told to look as well. The count alone cannot tell a place, so there none is named and none is asked. By how much
  (one raised end or two, one pass or a there-and-back, one end of the warp or two, more or fewer) must be right too.
- A warp that is not as told is one cause, which names the likeliest number of ends and the others that would give the
  sign as well: she has to count it anew, whatever the number. In the lines "each number of ends by itself" the number must
  be right too: one that is named after the first stands so many places further back. Causes behind the warp keep their
  places there, so these lines are a little kinder than a list of single numbers, which this page was about before.
- Two slips that leave the very same passes, from the same place to the same place in the same shed, are one cause:
  there is nothing by which anyone could tell them apart, and the remedy is the same. "Alike" is the share of such cases.
- The tables are of rows with one slip, which is what the search looks for. Rows with several are counted apart; two
  are found only when both are named in one cause.
- Who stops where a count cannot be made says by how much; half of the first kind of weaver, and a quarter of the
  second, say at which move. She does not look at the cloth.
- A pass that the edge stops while it is being miscounted is noticed at once, and no case.

The first kind of weaver stops at the first count that cannot be made, as she is told to, and goes by her counts.
The second kind of weaver forgets the shed twice as often, slips in bursts (three rows in ten have a stretch of six
moves in which she slips twelve times as often), reads the shed off the plan less often, goes on in six of ten where a
count cannot be made (and six in ten of those go back to the last hole), goes by holes and not by counts in the far group
in 45 of 100 rows, is one group out in one look of five (the others in one of eight), and calls what she sees by any other name in one of
eight (the others in one of twenty). The search weighs what those come to who stop and go by
their counts (7 and 6 of ten, by a judgement that is older than the second weaver) with what the others come to. It
knows of none of her rates; earlier it looked for slips of a weaver who does not stop only where none of one who stops
fitted, and named a quarter of hers not at all.

## The error model

No source gives figures; the kinds are common practice, the weights our judgement. A weaver's chance is 0.0002 for each
unit of weight, which gives a slip in about one row of ten.

`

// floors are what the study must find at least, in hundredths of the cases, with
// the few rows of an ordinary run of the tests.
var floors = []struct {
	name              string
	e                 erring
	seed              uint64
	first, two, three int
}{
	{"by the model", byTheModel, 0, 68, 87, 93},
	{"otherwise", otherwise, 1, 59, 82, 90},
}

func TestStudyOfMiscounts(t *testing.T) {
	rows, seeds := *studyRows, studySeeds
	if rows == 0 {
		rows, seeds = 6_000, testSeeds
	}
	var found []*study
	for _, f := range floors {
		s := studied(t, f.e, rows, [2]uint64{seeds[0], seeds[1] + f.seed})
		found = append(found, s)
		t.Logf("%s: %d rows, %d good, %d noticed at once, %d without a sign, %d with one slip, %d with several; %s%s",
			f.name, s.rows, s.good, s.noticed, s.unseen, s.single, s.several, s.counted.line("count"), s.looked.line("all"))
		for _, sc := range []score{s.counted, s.looked} {
			if sc.cases < 300 {
				t.Errorf("%s: only %d cases", f.name, sc.cases)
			}
			if 100*sc.first < f.first*sc.cases || 100*sc.two < f.two*sc.cases || 100*sc.three < f.three*sc.cases {
				t.Errorf("%s: %+v is below %d, %d and %d %%", f.name, sc, f.first, f.two, f.three)
			}
		}
	}
	if *studyRows == 0 {
		return
	}
	if err := os.MkdirAll(filepath.Dir(studyPage), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(studyPage, []byte(page(found[0], found[1], rows)), 0o644); err != nil {
		t.Fatal(err)
	}
}
