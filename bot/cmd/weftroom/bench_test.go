package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"
)

// BenchmarkAsk measures `weftroom ask` from start to exit against the floor of
// an empty Go program, both built here and run in turn.
func BenchmarkAsk(b *testing.B) {
	dir := b.TempDir()
	empty := filepath.Join(dir, "empty.go")
	if err := os.WriteFile(empty, []byte("package main\n\nfunc main() {}\n"), 0o600); err != nil {
		b.Fatal(err)
	}
	floor, ask := filepath.Join(dir, "empty"), filepath.Join(dir, "weftroom")
	goBuild(b, floor, empty)
	goBuild(b, ask, ".")
	for _, c := range []struct{ name, line string }{
		{"row", "row ends:97 rows:3 rightmost:hole"},
		{"sett", "sett yarn:8/2 cotton"},
	} {
		b.Run(c.name, func(b *testing.B) {
			var own, least time.Duration
			for b.Loop() {
				least += timed(b, floor)
				own += timed(b, ask, "ask", "--json", c.line)
			}
			b.ReportMetric(float64(own)/float64(least), "×empty")
			b.ReportMetric(float64(least.Microseconds())/float64(b.N), "µs-empty/op")
		})
	}
}

func goBuild(b *testing.B, out, what string) {
	if msg, err := exec.Command("go", "build", "-o", out, what).CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, msg)
	}
}

func timed(b *testing.B, name string, args ...string) time.Duration {
	start := time.Now()
	if err := exec.Command(name, args...).Run(); err != nil {
		b.Fatal(err)
	}
	return time.Since(start)
}
