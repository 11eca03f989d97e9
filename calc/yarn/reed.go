package yarn

import (
	"math"

	"weftroom/calc"
	"weftroom/calc/measure"
)

// ImperialReeds and MetricReeds are the heddles and reeds that are made, the
// common ones first.
var (
	ImperialReeds = []measure.Sett{
		5 * measure.PerInch, 8 * measure.PerInch, 10 * measure.PerInch, 12 * measure.PerInch,
		15 * measure.PerInch, 7.5 * measure.PerInch, 12.5 * measure.PerInch,
	}
	MetricReeds = []measure.Sett{
		20 * measure.PerDecimetre, 25 * measure.PerDecimetre, 30 * measure.PerDecimetre,
		40 * measure.PerDecimetre, 50 * measure.PerDecimetre, 60 * measure.PerDecimetre,
	}
)

const (
	longestOrder = 12   // dents, before a sleying order repeats
	fullestDent  = 12   // ends that anyone would draw through one dent
	sameRatio    = 1e-6 // relative; far below what can be seen in a reed
)

// SleyOrder is how many ends go into each dent, dent after dent, until the order
// repeats: with ends to dents as a to b in lowest terms, dent i counted from 0
// holds ⌊(i+1)a/b⌋ − ⌊ia/b⌋. 15 ends per inch in a reed of 10 are 1-2. Published
// orders are the same up to where they begin, or spread nearly as evenly.
//
// Setts that have no such ratio with b up to 12, or need more than 12 ends in a
// dent, are a Fault (OutOfRange) with the nearest sett that does.
func SleyOrder(epi, dpi measure.Sett) ([]int, error) {
	if !(epi > 0) || !(dpi > 0) || math.IsInf(float64(epi), 0) || math.IsInf(float64(dpi), 0) {
		return nil, &calc.Fault{Code: calc.BadValue, Key: KeyNoSett, Args: []any{epi, dpi}, Example: "20/in"}
	}
	ratio := float64(epi / dpi)
	if ratio > fullestDent*(1+sameRatio) {
		return nil, sleyFault(epi, dpi, fullestDent)
	}
	nearest := 1.0 / longestOrder
	for b := 1; b <= longestOrder; b++ {
		a := math.Round(ratio * float64(b))
		exact := a / float64(b)
		if math.Abs(exact-ratio) <= sameRatio*ratio {
			return order(int(a), b), nil
		}
		if a > 0 && math.Abs(exact-ratio) < math.Abs(nearest-ratio) {
			nearest = exact
		}
	}
	return nil, sleyFault(epi, dpi, nearest)
}

func sleyFault(epi, dpi measure.Sett, ratio float64) *calc.Fault {
	near := measure.Sett(ratio) * dpi
	return &calc.Fault{
		Code: calc.OutOfRange, Key: KeySley,
		Args: []any{epi, dpi, near}, Example: settExample(near),
	}
}

// settExample writes a sett as ParseSett reads it, with as few decimals as leave
// it the same sett to SleyOrder.
func settExample(s measure.Sett) string {
	exact := s.In(measure.PerInch)
	n := exact
	for scale := 1.0; scale <= 1e8; scale *= 10 {
		n = math.Round(exact*scale) / scale
		if math.Abs(n-exact) <= sameRatio/2*exact {
			break
		}
	}
	return measure.Decimal(n) + "/in"
}

// order spreads a ends over b dents as evenly as whole ends go.
func order(a, b int) []int {
	dents := make([]int, b)
	for i := range dents {
		dents[i] = (i+1)*a/b - i*a/b
	}
	return dents
}

// sleying is a sett that a reed can give.
type sleying struct {
	epi, reed measure.Sett
	a, b      int // a ends to b dents
	score     float64
}

// fullest is the number of ends in its fullest dent.
func (s sleying) fullest() int { return (s.a + s.b - 1) / s.b }

// chooseReed finds the sett nearest to target, from low to high, among what
// reeds can be sleyed for.
//
// Nearness is the logarithm of the ratio, so that a little too close and a
// little too open count the same and a finer yarn never gets an opener sett. An
// order that repeats after b dents costs 3 % for each dent beyond the first,
// since uneven sleying shows as reed marks and is easily miscounted; at half of
// that, 8/2 cotton would be sent to 1-2-2 in a reed of 12.5 instead of the usual
// two in a reed of 10. In lace it costs twice as much: marks of the reed stand
// among the holes, and groups are counted end by end. More than three ends in a dent cost so much that they are
// chosen only where nothing else is within the range. On a tie fewer ends in a
// dent win, and then the reed that stands earlier in the list.
func chooseReed(target, low, high measure.Sett, reeds []measure.Sett, uneven float64) (sleying, bool) {
	var best sleying
	found := false
	for _, reed := range reeds {
		if !(reed > 0) {
			continue
		}
		for b := 1; b <= longestOrder; b++ {
			for _, s := range within(low, high, reed, b) {
				s.score = cost(s, target, uneven)
				if !found || better(s, best) {
					best, found = s, true
				}
			}
		}
	}
	return best, found
}

// within lists the setts from low to high that repeat after exactly b dents.
func within(low, high, reed measure.Sett, b int) []sleying {
	var list []sleying
	per := reed / measure.Sett(b)
	first := int(math.Max(1, math.Ceil(math.Min(float64(low/per), fullestDent*longestOrder+1))))
	for a := first; a <= fullestDent*b; a++ {
		epi := reed * measure.Sett(a) / measure.Sett(b)
		if epi > high {
			break
		}
		if gcd(a, b) == 1 && epi >= low {
			list = append(list, sleying{epi: epi, reed: reed, a: a, b: b})
		}
	}
	return list
}

// unevenCost is what each dent beyond the first costs in a sleying order.
func (w Weave) unevenCost() float64 {
	if w == Lace {
		return 0.06
	}
	return 0.03
}

func cost(s sleying, target measure.Sett, uneven float64) float64 {
	c := math.Abs(math.Log(float64(s.epi/target))) + uneven*float64(s.b-1)
	if s.fullest() > 3 {
		c++
	}
	return c
}

func better(s, than sleying) bool {
	const same = 1e-9
	if math.Abs(s.score-than.score) > same {
		return s.score < than.score
	}
	return s.fullest() < than.fullest()
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
