package bot

import (
	"sort"
	"strings"
	"unicode/utf8"
)

// Nearest gives up to n of the candidates that a misspelt word may have meant,
// nearest first: those it begins, and those within so many slips as its length
// allows. Whoever makes more than one slip, or one in a word of up to three
// letters, still begins with the right letter. A
// word of more than 40 letters is no slip of the pen.
func Nearest(word string, candidates []string, n int) []string {
	word = strings.ToLower(word)
	letters := utf8.RuneCountInString(word)
	if letters > 40 {
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
		slip := d <= slips(letters) && (sameFirst(word, low) || d == 1 && letters > 3)
		if slip || letters >= 2 && strings.HasPrefix(low, word) {
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

// slips is how many slips a word of so many letters may have: of two letters,
// one slip leaves no more than chance.
func slips(letters int) int {
	switch {
	case letters <= 2:
		return 0
	case letters <= 4:
		return 1
	case letters <= 7:
		return 2
	}
	return (letters + 2) / 3
}

func sameFirst(a, b string) bool {
	x, _ := utf8.DecodeRuneInString(a)
	y, _ := utf8.DecodeRuneInString(b)
	return x == y
}

// Distance counts the letters to insert, drop, replace or swap with their
// neighbour to turn a into b, capitals being letters of their own: the distance
// of Damerau and Levenshtein, in which swapped letters may also have others
// put between them, so that no detour over a third word is ever shorter.
func Distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	far := len(x) + len(y)
	d := make([][]int, len(x)+2) // d[i+1][j+1] is between x[:i] and y[:j]; row and column 0 are out of reach
	for i := range d {
		d[i] = make([]int, len(y)+2)
		d[i][0], d[i][1] = far, i-1
	}
	for j := range d[0] {
		d[0][j] = far
		if j > 0 {
			d[1][j] = j - 1
		}
	}
	seen := map[rune]int{} // the last place in x, from 1, of each letter so far
	for i := 1; i <= len(x); i++ {
		match := 0 // the last place in y, from 1, of x[i-1] so far
		for j := 1; j <= len(y); j++ {
			k, l := seen[y[j-1]], match
			replace := 1
			if x[i-1] == y[j-1] {
				replace, match = 0, j
			}
			d[i+1][j+1] = min(d[i][j]+replace, d[i+1][j]+1, d[i][j+1]+1, d[k][l]+(i-k-1)+1+(j-l-1))
		}
		seen[x[i-1]] = i
	}
	return d[len(x)+1][len(y)+1]
}
