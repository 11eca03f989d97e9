package lesson_test

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"weftroom/bot"
	"weftroom/bot/lesson"
	"weftroom/bot/store"
)

// BenchmarkNext measures a step through a plan against reading from the store where
// she is and keeping it, which each step must do, in the same run; both in one
// transaction with the ledger of requests, as a chat's are. Both are run for a plan of
// a thousand rows, for the same a row at a time, where each step looks up whether the
// plan still holds, for one of listed rows with no two alike, and for one that was
// changed on the way. The dispatcher is not in it: its part is that of any command.
func BenchmarkNext(b *testing.B) {
	var long []string
	for i := range 120 {
		long = append(long, fmt.Sprintf("%d %d 60x3", 2+i%7, 9-i%7))
	}
	for _, plan := range []struct{ name, start, then string }{
		{"plain", "start ends:97 raised:3 rows:1000", ""},
		{"by row", "start ends:97 raised:3 rows:1000 by:row", ""},
		{"listed", fmt.Sprintf("start ends:390 rows:120 groups:%q", strings.Join(long, "|")), ""},
		{"changed", "start ends:97 raised:3 rows:400", "replan raised:4 sure:yes"},
	} {
		b.Run(plan.name, func(b *testing.B) {
			ctx := context.Background()
			db, err := store.OpenSQLite(ctx, filepath.Join(b.TempDir(), "class.db"), store.Options{Now: time.Now})
			if err != nil {
				b.Fatal(err)
			}
			defer db.Close()
			desk := &lesson.Desk{Store: db, Now: time.Now}
			she := bot.Account{Chat: "bench", User: "rae"}
			commands := map[string]*bot.Command{}
			for _, c := range lesson.Commands(desk) {
				commands[c.Name] = c
			}
			words, requests := lesson.English(), 0
			once := func(do func(context.Context) (bot.Reply, error)) bot.Reply {
				requests++
				r, err := db.Once(ctx, bot.Request{ID: fmt.Sprint(requests), From: she}, do)
				if err != nil {
					b.Fatal(err)
				}
				return r
			}
			run := func(line string) bot.Reply {
				name, rest, _ := strings.Cut(line, " ")
				args, err := commands[name].ArgsOf(rest, 0)
				if err != nil {
					b.Fatal(err)
				}
				return once(func(ctx context.Context) (bot.Reply, error) {
					return commands[name].Run(ctx, &bot.Call{
						Request: bot.Request{From: she, In: bot.Place{Chat: "bench", Room: "direct:rae"}, Direct: true, Line: line}, Args: args, Texts: words,
					})
				})
			}
			run(plan.start)
			if plan.then != "" {
				run(plan.then)
			}
			var floor, step time.Duration
			for b.Loop() {
				begun := time.Now()
				once(func(ctx context.Context) (bot.Reply, error) {
					w, err := db.Walk(ctx, she)
					if err == nil {
						err = db.KeepWalk(ctx, she, w)
					}
					return bot.Reply{Title: "kept"}, err
				})
				floor += time.Since(begun)
				begun = time.Now()
				if r := run("next"); r.Title == "" {
					b.Fatalf("%+v", r)
				}
				step += time.Since(begun)
			}
			b.ReportMetric(float64(step)/float64(floor), "×store")
			b.ReportMetric(float64((step-floor).Microseconds())/float64(b.N), "µs-more/op")
		})
	}
}
