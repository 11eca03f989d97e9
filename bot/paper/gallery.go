package paper

import (
	linked "container/list"
	"errors"
	"runtime"
	"sync"
)

// Gallery draws pictures and keeps them, since the students of a class ask for
// the same again and again. A picture is known by all that is on its sheet, so
// what is kept is what would have been drawn. It is safe for use from many
// goroutines; of the same picture at the same time one is drawn, and the others
// wait for it.
type Gallery struct {
	most int // bytes

	mu       sync.Mutex
	pictures map[seal]*linked.Element // of *framed
	order    *linked.List             // the one asked for last is first
	size     int                      // bytes of all that are drawn
}

// framed is a picture that is kept, or in the making.
type framed struct {
	seal seal
	once sync.Once
	png  []byte // nil until it is drawn
	err  error
	size int // as counted in the Gallery; 0 until then
}

// frame is what a picture takes beside its bytes, roughly.
const frame = 256

// NewGallery makes a Gallery that keeps up to so many bytes. With 0 it keeps
// nothing.
func NewGallery(most int) *Gallery {
	return &Gallery{most: most, pictures: map[seal]*linked.Element{}, order: linked.New()}
}

// pens bounds how much is drawn at a time in this process, pictures and pages,
// since each takes a processor and some megabytes for a while.
var pens = make(chan struct{}, runtime.GOMAXPROCS(0))

// errUnfinished is of a picture whose drawing ended in a panic, for those who
// waited for it.
var errUnfinished = errors.New("the picture was not finished")

// PNG is the picture of a sheet, so many pixels wide: see the function of that
// name. The bytes are shared, and must not be changed. It waits while as many
// pictures are being drawn as there are processors.
func (g *Gallery) PNG(sheet func() (*Sheet, error), width int) ([]byte, error) {
	pens <- struct{}{}
	defer func() { <-pens }()
	s, err := sheet()
	if err != nil {
		return nil, err
	}
	seal, whole := sealOf(s, width)
	if !whole || g.most == 0 {
		return PNG(s, width)
	}
	f := g.framed(seal)
	f.once.Do(func() { // whoever waits here has a pen, and so has the one who draws
		defer g.hang(f)
		f.err = errUnfinished
		f.png, f.err = PNG(s, width)
	})
	return f.png, f.err
}

// framed is the picture of a seal, which may be still to be drawn.
func (g *Gallery) framed(s seal) *framed {
	g.mu.Lock()
	defer g.mu.Unlock()
	if e := g.pictures[s]; e != nil {
		g.order.MoveToFront(e)
		return e.Value.(*framed)
	}
	f := &framed{seal: s}
	g.pictures[s] = g.order.PushFront(f)
	return f
}

// hang keeps a picture that has been drawn, and lets those go that were not asked
// for the longest, until there is room. One that failed is not kept.
func (g *Gallery) hang(f *framed) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if f.err != nil {
		g.drop(g.pictures[f.seal])
		return
	}
	f.size = len(f.png) + frame
	g.size += f.size
	for e := g.order.Back(); e != nil && g.size > g.most; {
		before := e.Prev()
		if e.Value.(*framed).size > 0 { // the others are in the making
			g.drop(e)
		}
		e = before
	}
}

// drop lets a picture go. The caller holds mu.
func (g *Gallery) drop(e *linked.Element) {
	f := g.order.Remove(e).(*framed)
	delete(g.pictures, f.seal)
	g.size -= f.size
}
