package store_test

import (
	"context"
	"fmt"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/store"
	"weftroom/calc/measure"
)

var (
	she = bot.Account{Chat: "ask", User: "she"}
	he  = bot.Account{Chat: "console", User: "he"}

	fullLoom = class.Loom{
		Kind: class.RigidHeddle, Width: 15 * measure.Inch, Heddle: 10 * measure.PerInch, Sett: 20 * measure.PerInch, Ends: 300,
		Rightmost: class.Slot, From: "left", Units: measure.Imperial, Unsure: []string{"kind", "ends"},
	}
)

func keep(t *testing.T, m *store.Memory, a bot.Account, l class.Loom) {
	t.Helper()
	if err := m.KeepLoom(context.Background(), a, l); err != nil {
		t.Fatal(err)
	}
}

func kept(t *testing.T, m *store.Memory, a bot.Account) class.Loom {
	t.Helper()
	l, err := m.Loom(context.Background(), a)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// TestMemoryKeeps: each person has her own, to the last digit.
func TestMemoryKeeps(t *testing.T) {
	m := store.NewMemory()
	keep(t, m, she, fullLoom)
	keep(t, m, he, class.Loom{Ends: 97})
	if diff := cmp.Diff(fullLoom, kept(t, m, she)); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff(class.Loom{Ends: 97}, kept(t, m, he)); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff(class.Loom{}, kept(t, m, bot.Account{Chat: "console", User: "she"})); diff != "" {
		t.Errorf("the same name in another chat: %s", diff)
	}
	asker, err := m.Asker(context.Background(), bot.Request{From: she})
	if err != nil || asker.Units != measure.Imperial {
		t.Errorf("asker %+v, %v", asker, err)
	}
}

// TestMemoryIsApart: changing a loom that was got or given changes nothing kept.
func TestMemoryIsApart(t *testing.T) {
	m := store.NewMemory()
	given := class.Loom{Unsure: []string{"kind", "ends"}}
	keep(t, m, she, given)
	given.Unsure[0] = "width"
	kept(t, m, she).Unsure[1] = "width"
	if diff := cmp.Diff([]string{"kind", "ends"}, kept(t, m, she).Unsure); diff != "" {
		t.Error(diff)
	}
}

// TestMemoryFromManySides is for the race detector: readers always see one
// whole loom, and at the end everybody's last is kept.
func TestMemoryFromManySides(t *testing.T) {
	m := store.NewMemory()
	const people, times = 8, 20
	var all sync.WaitGroup
	for p := range people {
		a := bot.Account{Chat: "ask", User: fmt.Sprint(p)}
		all.Go(func() {
			for n := 1; n <= times; n++ {
				if err := m.KeepLoom(context.Background(), a, class.Loom{Ends: n, Unsure: []string{fmt.Sprint(n)}}); err != nil {
					t.Error(err)
				}
			}
		})
		all.Go(func() {
			for range times {
				l, err := m.Loom(context.Background(), a)
				if err != nil || l.Ends > 0 && l.Unsure[0] != fmt.Sprint(l.Ends) {
					t.Errorf("%v: half a loom: %+v", err, l)
				}
			}
		})
	}
	all.Wait()
	for p := range people {
		if l := kept(t, m, bot.Account{Chat: "ask", User: fmt.Sprint(p)}); l.Ends != times {
			t.Errorf("person %d: %+v", p, l)
		}
	}
}
