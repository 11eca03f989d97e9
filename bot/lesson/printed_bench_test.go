//go:build unix

package lesson

import (
	"fmt"
	"runtime"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/class"
	"weftroom/bot/paper"
	"weftroom/calc/cputime"
	"weftroom/calc/measure"
)

// BenchmarkHandout measures a whole handout, from the line asked to both its
// files, against a row diagram of the same plan as a picture for a chat, in
// processor time of the same run.
func BenchmarkHandout(b *testing.B) {
	kept := gallery
	gallery = paper.NewGallery(0) // the diagram is drawn each time
	b.Cleanup(func() { gallery = kept })
	for _, ask := range []string{
		"ends:97 raised:3 rows:2 rightmost:hole heddle:10",
		"ends:97 raised:3 rows:8 rightmost:hole heddle:10",
		"ends:40 raised:3 rows:8 repeat:halfdrop heddle:10",
		"ends:4000 raised:3 rows:300",
	} {
		b.Run(ask, func(b *testing.B) {
			room := newRoom()
			row := room.say("row " + ask)
			var diagram bot.Picture
			for _, block := range row.Body {
				if p, ok := block.(bot.Picture); ok && diagram.Draw == nil {
					diagram = p
				}
			}
			if diagram.Draw == nil {
				b.Fatalf("no diagram: %+v", row)
			}
			var whole, floor time.Duration
			for b.Loop() {
				floor += cputime.Spent(b, func() { _, _ = diagram.Draw() })
				whole += cputime.Spent(b, func() {
					if r := room.say("handout " + ask + " long:72in"); len(r.Files) != 2 {
						b.Fatalf("%+v", r)
					}
				})
			}
			b.ReportMetric(float64(whole)/float64(floor), "×diagram")
		})
	}
}

// BenchmarkHandouts measures the handouts of a class of 30, as many at once as
// there are processors, and the live heap after the first round and the last.
func BenchmarkHandouts(b *testing.B) {
	set, g := aClassOf(30)
	var first, last float64
	for b.Loop() {
		made, err := set.make(b.Context(), g)
		if err != nil || len(made) != 30 || made[29].files == nil {
			b.Fatalf("%d made, %v", len(made), err)
		}
		if last = liveHeap(); first == 0 {
			first = last
		}
	}
	b.ReportMetric(first, "MB-first")
	b.ReportMetric(last, "MB-last")
}

// TestHandoutsLeaveNothingBehind makes a class's handouts again and again: what
// lives on between two rounds must not grow with them.
func TestHandoutsLeaveNothingBehind(t *testing.T) {
	const students, rounds, most = 12, 4, 4.0
	set, g := aClassOf(students)
	var first float64
	for round := range rounds {
		made, err := set.make(t.Context(), g)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range made {
			if len(m.files) != 2 {
				t.Fatalf("%s has %d files", m.name, len(m.files))
			}
		}
		live := liveHeap()
		if round == 0 {
			first = live // the fonts are loaded by now
		}
		if live > first+most {
			t.Errorf("round %d: %.1f MB live, %.1f after the first", round+1, live, first)
		}
	}
}

// aClassOf is a class whose students have looms of all sizes.
func aClassOf(students int) (*handoutSet, []fellow) {
	c := &bot.Call{Texts: English(), Units: measure.Metric}
	c.Args, _ = handoutsCommand(bareDesk(newRoom().looms)).ArgsOf("raised:3 rows:4 repeat:halfdrop", measure.Metric)
	var g []fellow
	for i := range students {
		name := fmt.Sprintf("Student %d", i+1)
		g = append(g, fellow{
			member: class.Member{Role: bot.Student}, person: class.Person{Name: name}, name: name,
			loom: class.Loom{Kind: class.RigidHeddle, Heddle: 10 * measure.PerInch, Ends: 40 + 9*i, Rightmost: class.Hole},
		})
	}
	return &handoutSet{c: c, class: class.Class{Name: "Lace of Tarnholm"}, page: "a4"}, g
}

func liveHeap() float64 {
	runtime.GC()
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return float64(m.HeapAlloc) / 1e6
}
