package paper

import (
	"bufio"
	"crypto/sha256"
	"encoding/binary"
	"io"
	"math"
)

// seal is what a picture is known by: a digest of all that is on its sheet and
// its width in pixels.
type seal [sha256.Size]byte

// sealOf reads a whole sheet. whole is false when there is something on it that
// it cannot read, so that two pictures could have one seal.
func sealOf(s *Sheet, width int) (sum seal, whole bool) {
	h := sha256.New()
	w := sealer{out: bufio.NewWriterSize(h, 8192)}
	w.number(width)
	whole = w.sheet(s, 0)
	_ = w.out.Flush() // a hash takes everything
	h.Sum(sum[:0])
	return sum, whole
}

// sealer writes a sheet into a hash. Each text and list is preceded by its length,
// and each item by its kind, so that no two sheets are written alike.
type sealer struct {
	out  *bufio.Writer
	word [8]byte
}

func (w *sealer) sheet(s *Sheet, depth int) (whole bool) {
	if depth > maxNested {
		return true // nobody draws what lies deeper
	}
	w.values(s.W, s.H)
	w.number(len(s.Items))
	for _, item := range s.Items {
		switch it := item.(type) {
		case Filled:
			w.kind('f')
			w.path(it.Path)
			w.ink(it.Ink)
		case Stroked:
			w.kind('s')
			w.path(it.Path)
			w.pen(it.Pen)
		case Lettered:
			w.kind('l')
			w.values(it.X, it.Y, it.Size)
			w.number(int(it.Style))
			w.number(int(it.Align))
			w.ink(it.Ink)
			w.text(it.Text)
		case Placed:
			w.kind('p')
			w.values(it.X, it.Y, it.Scale)
			if !w.sheet(it.Sheet, depth+1) {
				return false
			}
		default:
			return false
		}
	}
	return true
}

func (w *sealer) path(p *Path) {
	w.number(len(p.steps))
	for _, s := range p.steps {
		w.kind(byte(s))
	}
	w.number(len(p.points))
	for _, q := range p.points {
		w.values(q.X, q.Y)
	}
}

func (w *sealer) pen(p Pen) {
	w.ink(p.Ink)
	w.values(p.Width)
	w.number(len(p.Dash))
	w.values(p.Dash...)
	w.number(int(p.Cap))
}

func (w *sealer) ink(k Ink) {
	w.kind(k.R)
	w.kind(k.G)
	w.kind(k.B)
}

func (w *sealer) values(values ...float64) {
	for _, v := range values {
		binary.LittleEndian.PutUint64(w.word[:], math.Float64bits(v))
		_, _ = w.out.Write(w.word[:])
	}
}

func (w *sealer) number(n int) {
	binary.LittleEndian.PutUint64(w.word[:], uint64(n))
	_, _ = w.out.Write(w.word[:])
}

func (w *sealer) kind(b byte) { _ = w.out.WriteByte(b) }

func (w *sealer) text(s string) {
	w.number(len(s))
	_, _ = io.WriteString(w.out, s)
}
