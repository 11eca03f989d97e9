package main

import (
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"weftroom/calc/lace"
)

// groundsTable is where the README has the grounds.
var groundsTable = regexp.MustCompile(`(?s)<!-- grounds -->\n.*?<!-- end of grounds -->\n`)

// TestReadmeGrounds holds the table of grounds to those that there are.
func TestReadmeGrounds(t *testing.T) {
	text := readmeText(t)
	if len(groundsTable.FindAllString(text, -1)) != 1 {
		t.Fatal("README.md has no one place for the grounds")
	}
	var b strings.Builder
	b.WriteString("<!-- grounds -->\n| ground | `size` | `gap` | one repeat, places × rows |\n|---|---|---|---|\n")
	for _, g := range lace.Grounds() {
		repeat, err := g.Chart(nil)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&b, "| `%s` | %s | %s | %d × %d |\n", g.Name, sizeOf(g, "size"), sizeOf(g, "gap"), repeat.Columns(), len(repeat))
	}
	b.WriteString("<!-- end of grounds -->\n")
	fresh := groundsTable.ReplaceAllLiteralString(text, b.String())
	if fresh == text {
		return
	}
	if !*update {
		t.Fatal("README.md: the grounds are out of date; make docs rewrites them")
	}
	if err := os.WriteFile(readme, []byte(fresh), 0o644); err != nil {
		t.Fatal(err)
	}
}

// sizeOf is what a ground takes by that name, and what it has without it.
func sizeOf(g lace.Ground, name string) string {
	for _, s := range g.Sizes {
		if s.Name == name {
			return fmt.Sprintf("%d–%d, else %d", s.Min, s.Max, s.Default)
		}
	}
	return ""
}

// TestReadmeHolds holds what the README says of what does not hold in cloth to the
// bounds that are kept.
func TestReadmeHolds(t *testing.T) {
	text := strings.Join(strings.Fields(readmeText(t)), " ")
	for _, want := range []string{
		fmt.Sprintf("more than %d picks", lace.MaxSlit),
		fmt.Sprintf("wider than %d raised ends", lace.MaxDrawn),
		fmt.Sprintf("more than %d rows", lace.MaxSlope),
		fmt.Sprintf("less than %d pairs from a selvedge", lace.MinRaised),
		fmt.Sprintf("%d rows and %s places", lace.MaxChartRows, thousands(lace.MaxChartColumns)),
		fmt.Sprintf("up to %d letters", lace.MaxLetters),
	} {
		if !strings.Contains(text, want) {
			t.Errorf("README.md does not say %q of designs made of holes", want)
		}
	}
}

// thousands writes a number up to a million with a comma.
func thousands(n int) string {
	if n < 1000 {
		return fmt.Sprint(n)
	}
	return fmt.Sprintf("%d,%03d", n/1000, n%1000)
}
