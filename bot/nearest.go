package bot

import (
	"sort"
	"strings"
	"unicode/utf8"
)

// Nearest gives up to n of the candidates that a misspelt word may have meant,
// nearest first: those it begins, and those within a third of its letters.
func Nearest(word string, candidates []string, n int) []string {
	word = strings.ToLower(word)
	if utf8.RuneCountInString(word) > 40 {
		return nil
	}
	type hit struct {
		name     string
		distance int
	}
	var hits []hit
	for _, c := range candidates {
		low := strings.ToLower(c)
		d := Distance(word, low)
		if d <= (utf8.RuneCountInString(word)+2)/3 {
			hits = append(hits, hit{c, d})
		} else if len(word) >= 2 && strings.HasPrefix(low, word) {
			hits = append(hits, hit{c, d})
		}
	}
	sort.SliceStable(hits, func(i, j int) bool { return hits[i].distance < hits[j].distance })
	var out []string
	for _, h := range hits {
		if len(out) < n {
			out = append(out, h.name)
		}
	}
	return out
}

// Distance counts the letters to insert, drop, replace or swap with their
// neighbour to turn a into b (optimal string alignment). Capitals count.
func Distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	rows := [3][]int{make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)}
	for j := range rows[1] {
		rows[1][j] = j
	}
	for i := 1; i <= len(x); i++ {
		two, one, now := rows[0], rows[1], rows[2]
		now[0] = i
		for j := 1; j <= len(y); j++ {
			swap := 0
			if x[i-1] != y[j-1] {
				swap = 1
			}
			now[j] = min(one[j]+1, now[j-1]+1, one[j-1]+swap)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				now[j] = min(now[j], two[j-2]+1)
			}
		}
		rows[0], rows[1], rows[2] = one, now, two
	}
	return rows[1][len(y)]
}
