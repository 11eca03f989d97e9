package paper

import "weftroom/calc/lace"

// How the ends of a piece settle, as a model of springs. End i has at each level
// a sideways place; the plan of the springs is
//
//   - between neighbouring ends, of rest length one spacing where plain weave
//     ties them, shorter inside a group at the levels where it was worked, and
//     almost slack where the weft turned back between the two;
//   - along each end, from its place at one level to its place at the next, for
//     an end is stiff;
//   - weakly, from each end to its dent, and firmly for the two edge ends, since
//     turns at a selvedge are left slack.
//
// The energy is quadratic, so its minimum is the solution of one sparse
// symmetric positive system. It is a model of our own (derived, no source): it
// gives the shape of lace and promises no millimetres.
const (
	stiffTied  = 1.5   // between two ends that a pass ties
	stiffOpen  = 0.002 // between two ends where the weft turned back
	stiffAlong = 0.6   // along an end, from level to level
	stiffDent  = 0.015 // from an end to its dent
	stiffEdge  = 1.5   // from an edge end to its dent

	restPlain = 1.0 // spacings
	restDrawn = 0.7 // inside a group, at the levels where it was worked
)

// springs are the springs of a window of a piece: so many ends side by side, at
// so many levels. End 0 is the rightmost; an end at a level is at level*ends+end.
type springs struct {
	ends, levels int
	across       []float64 // stiffness between an end and the next one to the left
	rest         []float64 // and its rest length, in spacings
	along        float64   // stiffness between an end at a level and at the one above
	dent         []float64 // stiffness, by end
}

// springsOf are the springs of a piece, or of the part of it that is known.
func springsOf(in *lace.Interlacing) *springs {
	s := &springs{ends: in.High - in.Low, levels: in.Levels, along: stiffAlong}
	s.across = make([]float64, s.ends*s.levels)
	s.rest = make([]float64, s.ends*s.levels)
	s.dent = make([]float64, s.ends)
	for i := range s.dent {
		s.dent[i] = stiffDent
	}
	if in.Low == 0 {
		s.dent[0] = stiffEdge
	}
	if in.High == in.Ends {
		s.dent[s.ends-1] = stiffEdge
	}
	for level := range s.levels {
		s.tie(in, level)
	}
	return s
}

// tie sets the springs of one level. A level at which any boundary is open was
// worked in groups.
func (s *springs) tie(in *lace.Interlacing, level int) {
	row := level * s.ends
	worked := false
	for i := range s.ends - 1 {
		s.across[row+i], s.rest[row+i] = stiffTied, restPlain
		if !in.Tied(in.Low+i+1, level) {
			s.across[row+i] = stiffOpen
			worked = true
		}
	}
	if !worked {
		return
	}
	for i := range s.ends - 1 {
		if s.across[row+i] == stiffTied {
			s.rest[row+i] = restDrawn
		}
	}
}

// settled is how close the solution is to the minimum: the residual of the
// system, relative to that of all ends in their dents. It leaves every end within
// a ten thousandth of a spacing of its place, far less than a pixel.
const settled = 1e-6

// settle gives the place of every end at every level, in spacings to the left of
// the place of end 0 in its dent, and the steps that it took.
//
// The system is solved by conjugate gradients with an incomplete Cholesky
// factor, of the same sparsity, as the preconditioner. Since the dents hold every end,
// the condition of the system does not grow with the cloth, nor do the steps: time
// and memory grow with ends × levels.
func (s *springs) settle() (place []float64, steps int) {
	a := s.system()
	n := len(a.diagonal)
	place = make([]float64, n)
	residual, shift, image, preconditioned := a.load, make([]float64, n), make([]float64, n), make([]float64, n)
	a.precondition(preconditioned, residual)
	copy(shift, preconditioned)
	rz, enough := dot(residual, preconditioned), settled*settled*dot(residual, residual)
	for steps < 1000 && dot(residual, residual) > enough {
		a.multiply(image, shift)
		alpha := rz / dot(shift, image)
		for i := range place {
			place[i] += alpha * shift[i]
			residual[i] -= alpha * image[i]
		}
		a.precondition(preconditioned, residual)
		next := dot(residual, preconditioned)
		for i := range shift {
			shift[i] = preconditioned[i] + next/rz*shift[i]
		}
		rz = next
		steps++
	}
	for i := range place {
		place[i] += float64(i % s.ends)
	}
	return place, steps
}

// system is the sparse symmetric system of the springs, for how far each end is
// from its dent: the diagonal, the entries beside it (as their negative, for
// they are minus a stiffness), and the right-hand side.
type system struct {
	ends     int
	diagonal []float64
	across   []float64 // to the next end
	along    float64   // to the next level
	load     []float64
	factor   []float64 // pivots of the incomplete Cholesky factor
}

func (s *springs) system() *system {
	n := s.ends * s.levels
	a := &system{
		ends: s.ends, across: s.across, along: s.along,
		diagonal: make([]float64, n), load: make([]float64, n), factor: make([]float64, n),
	}
	for i := range n {
		end, level := i%s.ends, i/s.ends
		a.diagonal[i] += s.dent[end]
		if level+1 < s.levels {
			a.diagonal[i] += s.along
			a.diagonal[i+s.ends] += s.along
		}
		if end+1 < s.ends {
			k := s.across[i]
			a.diagonal[i] += k
			a.diagonal[i+1] += k
			pull := k * (s.rest[i] - 1) // the dents are one spacing apart
			a.load[i] -= pull
			a.load[i+1] += pull
		}
	}
	for i := range n {
		pivot := a.diagonal[i]
		if i%s.ends > 0 {
			pivot -= a.across[i-1] * a.across[i-1] / a.factor[i-1]
		}
		if i >= s.ends {
			pivot -= a.along * a.along / a.factor[i-s.ends]
		}
		a.factor[i] = pivot
	}
	return a
}

// multiply sets y to the system times x.
func (a *system) multiply(y, x []float64) {
	for i := range y {
		y[i] = a.diagonal[i] * x[i]
	}
	for i := range len(x) - 1 {
		k := a.across[i] // nought at the last end of a level
		y[i] -= k * x[i+1]
		y[i+1] -= k * x[i]
	}
	for i := range len(x) - a.ends {
		y[i] -= a.along * x[i+a.ends]
		y[i+a.ends] -= a.along * x[i]
	}
}

// precondition sets z to what the incomplete factor makes of r.
func (a *system) precondition(z, r []float64) {
	for i := range z {
		v := r[i]
		if i > 0 {
			v += a.across[i-1] * z[i-1]
		}
		if i >= a.ends {
			v += a.along * z[i-a.ends]
		}
		z[i] = v / a.factor[i]
	}
	for i := len(z) - 1; i >= 0; i-- {
		v := 0.0
		if i+1 < len(z) {
			v += a.across[i] * z[i+1]
		}
		if i+a.ends < len(z) {
			v += a.along * z[i+a.ends]
		}
		z[i] += v / a.factor[i]
	}
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}
