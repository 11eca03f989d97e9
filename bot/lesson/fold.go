package lesson

import "weftroom/calc/lace"

// run is a stretch of moves: From to To once, and then Times-1 times more.
// Moves are numbered from 1; a run that happens once has Times 1.
type run struct{ From, To, Times int }

// last is the number of the last move that the run covers.
func (r run) last() int { return r.To + (r.Times-1)*(r.To-r.From+1) }

// fold finds what a row says over and over, so that a plan of hundreds of moves
// is told in a few lines. Only moves that are alike in every word fold, so no
// count is hidden; a stretch folds when that saves at least two lines. Moves go
// there and back by turns, so a stretch that repeats is two moves at least. The
// first move stands alone: how the weft comes into a row is not said with it.
func fold(moves []lace.Move, longest int) []run {
	runs := []run{{1, 1, 1}}
	for i := 1; i < len(moves); {
		unit, times := bestFold(moves[i:], longest)
		if times == 1 {
			unit = 1
		}
		runs = append(runs, run{i + 1, i + unit, times})
		i += unit * times
	}
	return runs
}

func bestFold(moves []lace.Move, longest int) (unit, times int) {
	unit, times = 1, 1
	best := 1 // lines saved: the repeats, less the line that tells of them
	for u := 1; u <= longest && 2*u <= len(moves); u++ {
		n := 1
		for (n+1)*u <= len(moves) && alike(moves[:u], moves[n*u:(n+1)*u]) {
			n++
		}
		if saved := (n-1)*u - 1; n > 1 && saved > best {
			unit, times, best = u, n, saved
		}
	}
	return unit, times
}

func alike(a, b []lace.Move) bool {
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}
