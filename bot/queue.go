package bot

import (
	"context"
	"slices"
	"sync"
)

// Bounds of requests that wait or are being answered. Over a bound the answer
// is a kind one, at once.
const (
	PerPerson = 8
	PerRoom   = 64
	PerClass  = 128 // being answered; one class may meet in many rooms
	InAll     = 512
)

// queue lets requests in: those of one person one after the other in the order
// in which they came, those of different people side by side.
type queue struct {
	mu      sync.Mutex
	people  map[Account][]turn // has the people who are being answered, with the turns that wait
	rooms   map[Place]int
	classes map[string]int
	all     int
}

// turn is closed when it is a waiting request's turn.
type turn chan struct{}

func newQueue() *queue {
	return &queue{people: map[Account][]turn{}, rooms: map[Place]int{}, classes: map[string]int{}}
}

// enter waits until it is the turn of r. It tells false, and r must not be
// answered, when a bound is reached or ctx ends first; else leave must follow.
func (q *queue) enter(ctx context.Context, r Request) bool {
	t, ok := q.line(r)
	if !ok {
		return false
	}
	select {
	case <-t:
	case <-ctx.Done():
	}
	if ctx.Err() != nil {
		q.giveUp(r, t)
		return false
	}
	return true
}

// line puts r at the end of its person's line.
func (q *queue) line(r Request) (turn, bool) {
	q.mu.Lock()
	defer q.mu.Unlock()
	waiting, busy := q.people[r.From]
	if (busy && len(waiting)+1 >= PerPerson) || q.rooms[r.In] >= PerRoom || q.all >= InAll {
		return nil, false
	}
	t := make(turn)
	if busy {
		q.people[r.From] = append(waiting, t)
	} else {
		q.people[r.From] = nil
		close(t)
	}
	q.rooms[r.In]++
	q.all++
	return t, true
}

// leave makes room after r and gives the next of the same person her turn.
func (q *queue) leave(r Request) {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.pass(r.From)
	q.forget(r.In)
}

// attend counts a request that is being answered to its class, once it is known
// which; it tells false when the class has too many. "" is no class. After true
// excuse must follow.
func (q *queue) attend(class string) bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	if class != "" && q.classes[class] >= PerClass {
		return false
	}
	q.classes[class]++
	return true
}

// excuse is the end of attend.
func (q *queue) excuse(class string) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.classes[class]--; q.classes[class] == 0 {
		delete(q.classes, class)
	}
}

// giveUp takes r out of the line; its turn may have come in the meantime.
func (q *queue) giveUp(r Request, t turn) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if i := slices.Index(q.people[r.From], t); i >= 0 {
		q.people[r.From] = slices.Delete(q.people[r.From], i, i+1)
	} else {
		q.pass(r.From)
	}
	q.forget(r.In)
}

// pass ends a turn of a and begins the next, if one waits. The caller holds mu.
func (q *queue) pass(a Account) {
	waiting := q.people[a]
	if len(waiting) == 0 {
		delete(q.people, a)
		return
	}
	close(waiting[0])
	q.people[a] = waiting[1:]
}

// forget counts one request less in a room and in all. The caller holds mu.
func (q *queue) forget(in Place) {
	q.all--
	if q.rooms[in]--; q.rooms[in] == 0 {
		delete(q.rooms, in)
	}
}
